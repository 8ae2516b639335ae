package pictures_test

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/jpeg"
	"runtime"
	"strings"
	"sync"
	"testing"
	"testing/iotest"
	"time"

	"relevel/events"
	"relevel/server/pictures"
)

func derive(t *testing.T, photo []byte, size events.Size) *bytes.Reader {
	t.Helper()
	out, err := pictures.NewMaker(pictures.DefaultMemory).Derive(t.Context(), bytes.NewReader(photo), size)
	if err != nil {
		t.Fatalf("Derive: %v", err)
	}
	return bytes.NewReader(out)
}

func decodeJPEG(t *testing.T, r *bytes.Reader) image.Image {
	t.Helper()
	m, err := jpeg.Decode(r)
	if err != nil {
		t.Fatalf("what was made is no JPEG: %v", err)
	}
	return m
}

func TestDeriveOK(t *testing.T) {
	tests := map[string]struct {
		photo         []byte
		size          events.Size
		width, height int
	}{
		"jpeg":            {jpegOf(t, corners(1000, 600)), events.Small, 320, 192},
		"jpeg 4:4:4":      {baselineJPEG(1000, 600, 1), events.Small, 320, 192},
		"gray jpeg":       {jpegOf(t, grayCorners(1000, 600)), events.Small, 320, 192},
		"progressive":     {progressiveJPEG(640, 480, 1), events.Small, 320, 240},
		"png":             {pngOf(t, corners(1000, 600)), events.Small, 320, 192},
		"16 bit png":      {pngOf(t, deepCorners(1000, 600)), events.Small, 320, 192},
		"webp":            {webpOf(700, 350), events.Small, 320, 160},
		"portrait":        {jpegOf(t, corners(600, 1000)), events.Small, 192, 320},
		"large":           {jpegOf(t, corners(3301, 2475)), events.Large, 1600, 1200},
		"odd":             {jpegOf(t, corners(641, 963)), events.Small, 213, 320},
		"odd png":         {pngOf(t, corners(641, 963)), events.Small, 213, 320},
		"smaller already": {jpegOf(t, corners(200, 100)), events.Small, 200, 100},
		"exactly":         {jpegOf(t, corners(320, 240)), events.Small, 320, 240},
		"one row":         {pngOf(t, corners(2000, 1)), events.Small, 320, 1},
		"one column":      {pngOf(t, corners(1, 2000)), events.Small, 1, 320},
		"one pixel":       {jpegOf(t, corners(1, 1)), events.Small, 1, 1},
		"one row jpeg":    {jpegOf(t, corners(2000, 1)), events.Small, 320, 1},
		"one column jpeg": {jpegOf(t, corners(1, 2000)), events.Small, 1, 320},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			got := decodeJPEG(t, derive(t, test.photo, test.size)).Bounds().Size()
			if want := image.Pt(test.width, test.height); got != want {
				t.Errorf("size = %v, want %v", got, want)
			}
		})
	}
}

// TestDeriveColours compares the four corners and the middles of the halves
// with what was drawn, for each way in which pixels arrive.
func TestDeriveColours(t *testing.T) {
	for name, photo := range map[string][]byte{
		"jpeg":       jpegOf(t, corners(1301, 777)),
		"small jpeg": jpegOf(t, corners(300, 300)),
		"png":        pngOf(t, corners(1301, 777)),
		"16 bit png": pngOf(t, deepCorners(1300, 776)),
	} {
		t.Run(name, func(t *testing.T) {
			wantCorners(t, decodeJPEG(t, derive(t, photo, events.Small)), red, green, blue, yellow)
		})
	}
}

func TestDeriveTransparentOverWhite(t *testing.T) {
	m := image.NewNRGBA(image.Rect(0, 0, 900, 900)) // all transparent
	got := decodeJPEG(t, derive(t, pngOf(t, m), events.Small))
	wantCorners(t, got, white, white, white, white)
}

// TestDeriveUpright stores one picture in each of the eight ways a camera can
// be held. Made smaller, all of them look the same.
func TestDeriveUpright(t *testing.T) {
	for o := uint16(1); o <= 8; o++ {
		stored := storedAs(corners(800, 400), int(o))
		for format, photo := range map[string][]byte{
			"jpeg": withEXIF(jpegOf(t, stored), exif(o)),
			"png":  withPNGEXIF(pngOf(t, stored), exif(o)),
		} {
			got := decodeJPEG(t, derive(t, photo, events.Small))
			if size := got.Bounds().Size(); size != image.Pt(320, 160) {
				t.Errorf("%s, orientation %d: size = %v, want 320 × 160", format, o, size)
				continue
			}
			wantCorners(t, got, red, green, blue, yellow)
		}
	}
}

func TestDeriveStrangeOrientation(t *testing.T) {
	for name, notes := range map[string][]byte{
		"nought": exif(0),
		"nine":   exif(9),
		"broken": exif(6)[:20],
		"noise":  []byte("Exif\x00\x00MM\x00*\xff\xff\xff\xff"),
	} {
		photo := withEXIF(jpegOf(t, corners(800, 400)), notes)
		if got := decodeJPEG(t, derive(t, photo, events.Small)).Bounds().Size(); got != image.Pt(320, 160) {
			t.Errorf("%s: size = %v, want it as it is stored", name, got)
		}
	}
}

func TestDeriveDropsNotes(t *testing.T) {
	photo := withEXIF(jpegOf(t, corners(800, 400)), exif(6))
	for _, secret := range []string{"Exif", "S 37 48 51", "Level Best camera"} {
		if !bytes.Contains(photo, []byte(secret)) {
			t.Fatalf("the photo should hold %q", secret)
		}
	}
	for _, size := range []events.Size{events.Small, events.Large} {
		out := new(bytes.Buffer)
		derive(t, photo, size).WriteTo(out)
		for _, secret := range []string{"Exif", "S 37 48 51", "Level Best camera", "GPS", "\xff\xe1"} {
			if bytes.Contains(out.Bytes(), []byte(secret)) {
				t.Errorf("at %d pixels it still holds %q", size, secret)
			}
		}
	}
}

func TestDeriveRefused(t *testing.T) {
	whole := jpegOf(t, corners(800, 400))
	wholePNG := pngOf(t, corners(800, 400))
	tests := map[string][]byte{
		"nothing":             {},
		"text":                []byte("not a picture at all"),
		"gif":                 []byte("GIF89a\x01\x00\x01\x00\x00\x00\x00;"),
		"svg":                 []byte("<svg xmlns='http://www.w3.org/2000/svg'/>"),
		"sound":               []byte("\x1a\x45\xdf\xa3\x42\x82\x84webm A_OPUS"),
		"tiff":                []byte("II*\x00\x08\x00\x00\x00"),
		"script behind magic": []byte("\xff\xd8\xff<script>alert(1)</script>"),
		"jpeg header only":    whole[:300],
		"truncated jpeg":      whole[:len(whole)*2/3],
		"truncated png":       wholePNG[:len(wholePNG)*2/3],
		"truncated webp":      webpOf(700, 350)[:24],
		"jpeg bomb":           jpegSaying(whole, 65500, 65500),
		"jpeg just too large": jpegSaying(whole, 10001, 5000),
		"png bomb":            pngSaying(wholePNG, 1<<30, 1<<30),
		"wide png":            pngSaying(wholePNG, 50_000_001, 1),
		"webp bomb":           webpSaying(16383, 16383),
		"webp says otherwise": webpInCanvas(10, 10, 700, 350),
		"deep png":            pngSaying(pngOf(t, deepCorners(10, 10)), 7000, 7000),
		"progressive bomb":    progressiveJPEG(5000, 4000, 1),
		"a thousand scans":    progressiveJPEG(64, 64, 1000),
		"over 16 MiB":         append(bytes.Clone(whole), make([]byte, events.MaxPhotoBytes)...),
	}
	maker := pictures.NewMaker(pictures.DefaultMemory)
	for name, photo := range tests {
		t.Run(name, func(t *testing.T) {
			start := time.Now()
			out, err := maker.Derive(t.Context(), bytes.NewReader(photo), events.Small)
			if !errors.Is(err, pictures.ErrUnreadable) || out != nil {
				t.Errorf("Derive = %d bytes, %v; want ErrUnreadable", len(out), err)
			}
			if took := time.Since(start); took > 2*time.Second {
				t.Errorf("refusing it took %s", took)
			}
		})
	}
}

// TestDerivePolyglot has a file that is a JPEG from its beginning and something
// else from its end: only pixels come out.
func TestDerivePolyglot(t *testing.T) {
	tail := "PK\x05\x06<html><script>alert(1)</script>"
	photo := append(jpegOf(t, corners(800, 400)), tail...)
	out := new(bytes.Buffer)
	derive(t, photo, events.Small).WriteTo(out)
	for _, part := range []string{"PK\x05\x06", "<html>", "script"} {
		if bytes.Contains(out.Bytes(), []byte(part)) {
			t.Errorf("%q came through", part)
		}
	}
}

func TestDeriveReadFails(t *testing.T) {
	broken := errors.New("store went away")
	_, err := pictures.NewMaker(1).Derive(t.Context(), iotest.ErrReader(broken), events.Small)
	if !errors.Is(err, broken) || errors.Is(err, pictures.ErrUnreadable) {
		t.Errorf("Derive = %v, want the reader's error: it says nothing about the photo", err)
	}
	if _, err := pictures.NewMaker(1).Derive(t.Context(), strings.NewReader(""), events.Original); err == nil {
		t.Error("Derive of the original size gave no error")
	}
}

func TestDeriveWaits(t *testing.T) {
	maker := pictures.NewMaker(1) // everything goes alone
	photo := jpegOf(t, corners(800, 400))
	reading, release := make(chan bool), make(chan bool)
	var wg sync.WaitGroup
	for range 4 { // as many as read at a time
		wg.Go(func() {
			maker.Derive(t.Context(), &slowPhoto{bytes.NewReader(photo), reading, release}, events.Small)
		})
		<-reading
	}
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer cancel()
	if _, err := maker.Derive(ctx, bytes.NewReader(photo), events.Small); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("Derive while all places are taken = %v, want it to wait until its deadline", err)
	}
	close(release)
	wg.Wait()
	if _, err := maker.Derive(t.Context(), bytes.NewReader(photo), events.Small); err != nil {
		t.Errorf("Derive afterwards: %v", err)
	}
}

// slowPhoto tells that it is being read and then waits.
type slowPhoto struct {
	*bytes.Reader
	reading, release chan bool
}

func (s *slowPhoto) Read(p []byte) (int, error) {
	if s.reading != nil {
		s.reading <- true
		<-s.release
		s.reading = nil
	}
	return s.Reader.Read(p)
}

// TestMemoryBounded derives twelve photos of 12 million pixels at once. One
// takes about 30 MB, and its garbage as much again.
func TestMemoryBounded(t *testing.T) {
	photo := baselineJPEG(4000, 3000, 2)
	maker := pictures.NewMaker(60 << 20) // one at a time
	runtime.GC()
	before := heap()
	stop, peak := make(chan bool), make(chan uint64)
	go watchHeap(stop, peak)
	var wg sync.WaitGroup
	for range 12 {
		wg.Go(func() {
			if _, err := maker.Derive(t.Context(), bytes.NewReader(photo), events.Large); err != nil {
				t.Errorf("Derive: %v", err)
			}
		})
	}
	wg.Wait()
	close(stop)
	if got := <-peak - before; got > 100<<20 {
		t.Errorf("the heap grew by %d MiB", got>>20)
	}
}

func heap() uint64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

func watchHeap(stop <-chan bool, peak chan<- uint64) {
	var most uint64
	for {
		most = max(most, heap())
		select {
		case <-stop:
			peak <- most
			return
		case <-time.After(2 * time.Millisecond):
		}
	}
}

func FuzzDerive(f *testing.F) {
	whole := jpegOf(f, corners(40, 20))
	for _, photo := range [][]byte{
		whole, withEXIF(whole, exif(6)), pngOf(f, corners(40, 20)), withPNGEXIF(pngOf(f, corners(40, 20)), exif(3)),
		webpOf(40, 20), progressiveJPEG(40, 24, 3), whole[:len(whole)/2], jpegSaying(whole, 60000, 60000),
		jpegOf(f, grayCorners(9, 9)), webpInCanvas(10, 10, 40, 20), jpegOf(f, corners(660, 40)), baselineJPEG(2600, 9, 1),
	} {
		f.Add(photo)
	}
	maker := pictures.NewMaker(pictures.DefaultMemory)
	f.Fuzz(func(t *testing.T, photo []byte) {
		out, err := maker.Derive(t.Context(), bytes.NewReader(photo), events.Small)
		if err != nil {
			if !errors.Is(err, pictures.ErrUnreadable) {
				t.Errorf("Derive = %v, want ErrUnreadable", err)
			}
			return
		}
		c, err := jpeg.DecodeConfig(bytes.NewReader(out))
		if err != nil || max(c.Width, c.Height) > int(events.Small) {
			t.Errorf("made %d × %d, %v", c.Width, c.Height, err)
		}
	})
}

func BenchmarkDerive(b *testing.B) {
	photo := baselineJPEG(4000, 3000, 2)
	maker := pictures.NewMaker(pictures.DefaultMemory)
	for _, size := range []events.Size{events.Small, events.Large} {
		b.Run(map[events.Size]string{events.Small: "320", events.Large: "1600"}[size], func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := maker.Derive(b.Context(), bytes.NewReader(photo), size); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
