package pictures_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"io"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/server/pictures"
)

type albumTest struct {
	*pictures.Album
	objects *eventstest.MemObjects
	photos  *events.Photos
	firm    events.ID
}

func newAlbum(t *testing.T) albumTest {
	objects := new(eventstest.MemObjects)
	photos := &events.Photos{Objects: objects, Ledger: new(eventstest.MemLedger), Spool: t.TempDir()}
	album := pictures.NewAlbum(photos, pictures.NewMaker(pictures.DefaultMemory))
	return albumTest{album, objects, photos, eventstest.NewFirm(t)}
}

func (a albumTest) put(t *testing.T, photo []byte) events.Digest {
	t.Helper()
	sum := events.Digest(sha256.Sum256(photo))
	_, err := a.photos.Put(t.Context(), events.Upload{
		Firm: a.firm, SHA256: sum, Bytes: -1, Media: events.MediaJPEG,
		At: time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC), Body: bytes.NewReader(photo),
	})
	if err != nil {
		t.Fatal(err)
	}
	return sum
}

func (a albumTest) read(t *testing.T, file events.Digest, size events.Size) []byte {
	t.Helper()
	p, err := a.Open(t.Context(), a.firm, file, size)
	if err != nil {
		t.Fatalf("Open at %d: %v", size, err)
	}
	defer p.Body.Close()
	b, err := io.ReadAll(p.Body)
	if err != nil || int64(len(b)) != p.Bytes || p.Media != events.MediaJPEG {
		t.Errorf("read %d bytes, %v; announced %d of %s", len(b), err, p.Bytes, p.Media)
	}
	return b
}

// The small size is made of the large one where that is kept, and of the photo itself
// where that is damaged.
func TestSmallOfLarge(t *testing.T) {
	for name, damage := range map[string]func(a albumTest, sum events.Digest){
		"large": func(a albumTest, sum events.Digest) { a.objects.Replace(events.Key{Firm: a.firm, SHA256: sum}, nil) },
		"original": func(a albumTest, sum events.Digest) {
			a.objects.Replace(events.Key{Firm: a.firm, SHA256: sum, Size: events.Large}, []byte("\xff\xd8\xff"))
		},
	} {
		t.Run(name, func(t *testing.T) {
			a := newAlbum(t)
			sum := a.put(t, withEXIF(jpegOf(t, corners(4000, 2000)), exif(6)))
			a.read(t, sum, events.Large)
			damage(a, sum)
			small := decodeJPEG(t, bytes.NewReader(a.read(t, sum, events.Small)))
			if at := small.Bounds().Size(); at.X != 160 || at.Y != 320 {
				t.Errorf("small size = %v, want 160 × 320", at)
			}
		})
	}
}

func TestAlbumOK(t *testing.T) {
	a := newAlbum(t)
	photo := withEXIF(jpegOf(t, corners(800, 400)), exif(6))
	sum := a.put(t, photo)
	if got := a.read(t, sum, events.Original); !bytes.Equal(got, photo) {
		t.Error("the original is not what was sent")
	}
	first := a.read(t, sum, events.Small)
	wantSize := decodeJPEG(t, bytes.NewReader(first)).Bounds().Size()
	if wantSize.X != 160 || wantSize.Y != 320 {
		t.Errorf("small size = %v, want 160 × 320", wantSize)
	}
	a.read(t, sum, events.Large)
	if n := a.objects.Len(); n != 3 {
		t.Errorf("%d objects are kept, want the original and two sizes", n)
	}

	a.objects.Replace(events.Key{Firm: a.firm, SHA256: sum}, nil) // from now on only what was kept can be shown
	if again := a.read(t, sum, events.Small); !bytes.Equal(again, first) {
		t.Error("the small size was not kept")
	}
}

func TestAlbumMissing(t *testing.T) {
	a := newAlbum(t)
	sum := a.put(t, jpegOf(t, corners(800, 400)))
	for _, size := range []events.Size{events.Original, events.Small, events.Large} {
		if _, err := a.Open(t.Context(), a.firm, events.Digest{9}, size); !errors.Is(err, events.ErrNotFound) {
			t.Errorf("Open of nothing at %d = %v, want ErrNotFound", size, err)
		}
		if _, err := a.Open(t.Context(), eventstest.NewFirm(t), sum, size); !errors.Is(err, events.ErrNotFound) {
			t.Errorf("Open for another firm at %d = %v, want ErrNotFound", size, err)
		}
	}
}

func TestAlbumUnreadable(t *testing.T) {
	a := newAlbum(t)
	sum := a.put(t, []byte("\xff\xd8\xff\xe0 not really a picture"))
	if _, err := a.Open(t.Context(), a.firm, sum, events.Small); !errors.Is(err, pictures.ErrUnreadable) {
		t.Errorf("Open = %v, want ErrUnreadable", err)
	}
	if n := a.objects.Len(); n != 1 {
		t.Errorf("%d objects, want the original alone", n)
	}
}

func TestAlbumStoreAway(t *testing.T) {
	a := newAlbum(t)
	sum := a.put(t, jpegOf(t, corners(800, 400)))
	away := func(method string) func(string) error {
		return func(m string) error {
			if m == method {
				return events.ErrUnavailable
			}
			return nil
		}
	}
	a.objects.Before = away("open")
	if _, err := a.Open(t.Context(), a.firm, sum, events.Small); !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("Open = %v, want ErrUnavailable", err)
	}
	a.objects.Before = away("put") // made, shown, and kept next time
	a.read(t, sum, events.Small)
	if n := a.objects.Len(); n != 1 {
		t.Errorf("%d objects, want the original alone", n)
	}
	a.objects.Before = nil
	a.read(t, sum, events.Small)
	if n := a.objects.Len(); n != 2 {
		t.Errorf("%d objects, want the small size as well", n)
	}
}

func TestAlbumDamagedOriginal(t *testing.T) {
	a := newAlbum(t)
	sum := a.put(t, jpegOf(t, corners(800, 400)))
	a.objects.Replace(events.Key{Firm: a.firm, SHA256: sum}, jpegOf(t, corners(400, 800)))
	if _, err := a.Open(t.Context(), a.firm, sum, events.Small); !errors.Is(err, events.ErrDamaged) {
		t.Errorf("Open = %v, want ErrDamaged: a picture of something else must not be shown", err)
	}
}

// TestAlbumAtOnce has many ask for one size at once; the first gives up. The
// size is made once, and all others get it.
func TestAlbumAtOnce(t *testing.T) {
	a := newAlbum(t)
	sum := a.put(t, jpegOf(t, corners(800, 400)))
	var made atomic.Int32
	reading, release := make(chan bool), make(chan bool)
	var once sync.Once
	a.objects.After = func(method string) error {
		switch method {
		case "open": // at first only the original can be opened
			once.Do(func() {
				reading <- true
				<-release
			})
		case "put":
			made.Add(1)
		}
		return nil
	}
	first, giveUp := context.WithCancel(t.Context())
	gone := make(chan error)
	go func() {
		_, err := a.Open(first, a.firm, sum, events.Small)
		gone <- err
	}()
	<-reading
	giveUp()
	if err := <-gone; !errors.Is(err, context.Canceled) {
		t.Errorf("the one that gave up got %v", err)
	}
	var wg, asking sync.WaitGroup
	for range 8 {
		asking.Add(1)
		wg.Go(func() {
			asking.Done()
			a.read(t, sum, events.Small)
		})
	}
	asking.Wait()
	time.Sleep(20 * time.Millisecond) // let them join the one that is at work
	close(release)
	wg.Wait()
	if n := made.Load(); n != 1 {
		t.Errorf("the size was made %d times, want once", n)
	}
}
