package events_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"io"
	"os"
	"strings"
	"sync"
	"testing"
	"testing/iotest"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/levelling"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// jpegOf is as much of a JPEG as events looks at.
func jpegOf(text string) []byte { return []byte("\xff\xd8\xff\xe0 not a picture yet " + text) }

// box is one box of an ISO base media file.
func box(kind string, content ...string) string {
	all := strings.Join(content, "")
	return string(binary.BigEndian.AppendUint32(nil, uint32(8+len(all)))) + kind + all
}

func soundMP4() []byte {
	return []byte(box("ftyp", "M4A \x00\x00\x00\x00") + box("mdat", "hum") +
		box("moov", box("hdlr", "soun"), box("stsd", "mp4a")))
}

func soundWebM() []byte {
	return []byte("\x1a\x45\xdf\xa3\x9f\x42\x82\x84webm\x18\x53\x80\x67 \x86\x86A_OPUS hum")
}

func uploadOf(firm events.ID, media string, b []byte) events.Upload {
	return events.Upload{
		Firm: firm, SHA256: sha256.Sum256(b), Bytes: int64(len(b)), Media: media,
		At: noon, Body: bytes.NewReader(b),
	}
}

func newPhotos(t *testing.T) (*events.Photos, *eventstest.MemObjects, *eventstest.MemLedger) {
	objects, ledger := new(eventstest.MemObjects), new(eventstest.MemLedger)
	return &events.Photos{Objects: objects, Ledger: ledger, Spool: t.TempDir()}, objects, ledger
}

func TestPutOK(t *testing.T) {
	firm := eventstest.NewFirm(t)
	tests := map[string]struct {
		media, plain string
		kind         events.FileType
		bytes        []byte
	}{
		"jpeg":           {"image/jpeg", "image/jpeg", events.Photo, jpegOf("")},
		"jpg by its end": {"image/jpg", "image/jpeg", events.Photo, jpegOf("b")},
		"png":            {"image/png", "image/png", events.Photo, []byte("\x89PNG\r\n\x1a\n rest")},
		"webp":           {"image/webp", "image/webp", events.Photo, []byte("RIFF\x10\x00\x00\x00WEBPVP8L rest")},
		"webm":           {"audio/webm;codecs=opus", "audio/webm", events.Sound, soundWebM()},
		"m4a":            {"Audio/X-M4A", "audio/mp4", events.Sound, soundMP4()},
		"largest photo":  {"image/jpeg", "image/jpeg", events.Photo, append(jpegOf(""), make([]byte, events.MaxPhotoBytes-len(jpegOf("")))...)},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			p, _, _ := newPhotos(t)
			u := uploadOf(firm, test.media, test.bytes)
			got, err := p.Put(t.Context(), u)
			if err != nil {
				t.Fatal(err)
			}
			want := events.Kept{
				Firm: firm, SHA256: u.SHA256, Type: test.kind, Bytes: u.Bytes, Media: test.plain,
				State: events.FileStored, At: noon,
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("Put (-want +got):\n%s", diff)
			}
			wantFile(t, p, u, test.bytes)
		})
	}
}

func wantFile(t *testing.T, p *events.Photos, u events.Upload, want []byte) {
	t.Helper()
	_, body, err := p.Open(t.Context(), u.Firm, u.SHA256)
	if err != nil {
		t.Fatalf("Open: %v", err)
	}
	defer body.Close()
	if got, err := io.ReadAll(body); err != nil || !bytes.Equal(got, want) {
		t.Errorf("read %d bytes, %v; want the %d that were sent", len(got), err, len(want))
	}
}

func TestPutRefused(t *testing.T) {
	tests := map[string]struct {
		change func(*events.Upload)
		field  string // of the InputError
	}{
		"other digest":     {func(u *events.Upload) { u.SHA256[0]++ }, "sha256"},
		"no digest":        {func(u *events.Upload) { u.SHA256 = events.Digest{} }, "sha256"},
		"announced more":   {func(u *events.Upload) { u.Bytes++ }, "bytes"},
		"announced less":   {func(u *events.Upload) { u.Bytes-- }, "bytes"},
		"announced none":   {func(u *events.Upload) { u.Bytes = 0 }, "bytes"},
		"empty":            {send(""), "bytes"},
		"not what it says": {func(u *events.Upload) { u.Media = "image/png" }, "media_type"},
		"not taken":        {func(u *events.Upload) { u.Media = "image/svg+xml" }, "media_type"},
		"no type":          {func(u *events.Upload) { u.Media = "" }, "media_type"},
		"photo as sound":   {func(u *events.Upload) { u.Media = "audio/webm" }, "media_type"},
		"gif":              {send("GIF89a and the rest of it"), "media_type"},
		"heic":             {send(box("ftyp", "heic\x00\x00\x00\x00")), "media_type"},
		"svg":              {send("<svg xmlns='http://www.w3.org/2000/svg'/>"), "media_type"},
		"film":             {sendSound(box("ftyp", "isom\x00\x00\x00\x00") + box("moov", "soun mp4a vide")), "media_type"},
		"webm film":        {sendSound(string(soundWebM()) + "V_VP9"), "media_type"},
		"matroska":         {sendSound("\x1a\x45\xdf\xa3\x42\x82\x88matroska A_OPUS"), "media_type"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			p, objects, ledger := newPhotos(t)
			u := uploadOf(eventstest.NewFirm(t), "image/jpeg", jpegOf("refused"))
			test.change(&u)
			_, err := p.Put(t.Context(), u)
			var bad *levelling.InputError
			if !errors.As(err, &bad) || bad.Field != test.field {
				t.Errorf("Put = %v, want an InputError on %s", err, test.field)
			}
			wantNothing(t, p, objects, ledger, u)
		})
	}
}

// send replaces the whole upload by another text, announced without a size.
func send(text string) func(*events.Upload) {
	return func(u *events.Upload) {
		u.SHA256, u.Bytes, u.Body = sha256.Sum256([]byte(text)), -1, strings.NewReader(text)
	}
}

func sendSound(text string) func(*events.Upload) {
	return func(u *events.Upload) {
		send(text)(u)
		u.Media = "audio/mp4"
		if strings.HasPrefix(text, "\x1a") {
			u.Media = "audio/webm"
		}
	}
}

// wantNothing checks that a refused upload left no object, no entry and no
// file behind.
func wantNothing(t *testing.T, p *events.Photos, o *eventstest.MemObjects, l *eventstest.MemLedger, u events.Upload) {
	t.Helper()
	if n := o.Len(); n != 0 {
		t.Errorf("%d objects were kept", n)
	}
	if _, err := l.Find(t.Context(), u.Firm, u.SHA256); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("ledger: %v, want ErrNotFound", err)
	}
	if left, err := os.ReadDir(p.Spool); err != nil || len(left) != 0 {
		t.Errorf("spool holds %v, %v", left, err)
	}
}

func TestPutTooLarge(t *testing.T) {
	tests := map[string]struct {
		media     string
		announced int64
		body      io.Reader
	}{
		"announced photo": {"image/jpeg", events.MaxPhotoBytes + 1, iotest.ErrReader(errors.New("must not be read"))},
		"announced sound": {"audio/mp4", events.MaxSoundBytes + 1, iotest.ErrReader(errors.New("must not be read"))},
		"endless photo":   {"image/jpeg", -1, endless{}},
		"longer sound":    {"audio/mp4", 100, endless{}},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			p, objects, ledger := newPhotos(t)
			u := events.Upload{Firm: eventstest.NewFirm(t), SHA256: events.Digest{1}, Media: test.media, Bytes: test.announced, Body: test.body}
			if _, err := p.Put(t.Context(), u); !errors.Is(err, events.ErrTooLarge) {
				t.Errorf("Put = %v, want ErrTooLarge", err)
			}
			wantNothing(t, p, objects, ledger, u)
		})
	}
}

type endless struct{}

func (endless) Read(p []byte) (int, error) { return len(p), nil }

func TestPutCutOff(t *testing.T) {
	p, objects, ledger := newPhotos(t)
	u := uploadOf(eventstest.NewFirm(t), "image/jpeg", jpegOf("cut"))
	u.Body = io.MultiReader(bytes.NewReader(jpegOf("")), iotest.ErrReader(io.ErrUnexpectedEOF))
	if _, err := p.Put(t.Context(), u); !errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, events.ErrUnavailable) {
		t.Errorf("Put = %v, want the error of the connection", err)
	}
	wantNothing(t, p, objects, ledger, u)
}

func TestPutAgain(t *testing.T) {
	p, objects, _ := newPhotos(t)
	b := jpegOf("again")
	firm := eventstest.NewFirm(t)
	first, err := p.Put(t.Context(), uploadOf(firm, "image/jpeg", b))
	if err != nil {
		t.Fatal(err)
	}
	objects.Before = func(method string) error { return errors.New(method + ": a repeat has no business with the store") }
	later := uploadOf(firm, "image/jpeg", b)
	later.At = noon.Add(time.Hour)
	second, err := p.Put(t.Context(), later)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(first, second); diff != "" {
		t.Errorf("second answer (-first +second):\n%s", diff)
	}

	wrong := uploadOf(firm, "image/jpeg", jpegOf("something else"))
	wrong.SHA256 = first.SHA256
	var bad *levelling.InputError
	if _, err := p.Put(t.Context(), wrong); !errors.As(err, &bad) || bad.Field != "sha256" {
		t.Errorf("other bytes under a digest that is kept = %v, want an InputError on sha256", err)
	}
}

func TestPutAtOnce(t *testing.T) {
	p, objects, _ := newPhotos(t)
	firm, b := eventstest.NewFirm(t), jpegOf("from two phones")
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			if k, err := p.Put(t.Context(), uploadOf(firm, "image/jpeg", b)); err != nil || k.State != events.FileStored {
				t.Errorf("Put = %s, %v; want stored", k.State, err)
			}
		})
	}
	wg.Wait()
	if n := objects.Len(); n != 1 {
		t.Errorf("%d objects, want 1", n)
	}
}

// TestPutFails fails each step once, before and after it has done its work.
// Nothing may be called stored by then, and the repeat succeeds.
func TestPutFails(t *testing.T) {
	away := errors.New("away")
	for _, method := range []string{"find", "record", "put", "stat"} {
		for _, after := range []bool{false, true} {
			if after && method == "find" {
				continue // reading leaves nothing behind
			}
			when := map[bool]string{false: "before ", true: "after "}[after]
			t.Run(when+method, func(t *testing.T) {
				p, objects, ledger := newPhotos(t)
				failed := false
				hook := func(m string) error {
					if m != method || failed {
						return nil
					}
					failed = true
					return errors.Join(events.ErrUnavailable, away)
				}
				if after {
					objects.After, ledger.After = hook, hook
				} else {
					objects.Before, ledger.Before = hook, hook
				}
				u := uploadOf(eventstest.NewFirm(t), "image/jpeg", jpegOf("unlucky"))
				if _, err := p.Put(t.Context(), u); !errors.Is(err, events.ErrUnavailable) || !errors.Is(err, away) {
					t.Fatalf("Put = %v, want ErrUnavailable with its cause", err)
				}
				if k, err := ledger.Find(t.Context(), u.Firm, u.SHA256); err == nil && k.State.Safe() {
					t.Errorf("the ledger says %s", k.State)
				}
				u.Body = bytes.NewReader(jpegOf("unlucky"))
				if k, err := p.Put(t.Context(), u); err != nil || k.State != events.FileStored {
					t.Errorf("repeat = %s, %v; want stored", k.State, err)
				}
				wantFile(t, p, u, jpegOf("unlucky"))
			})
		}
	}
}

func TestPutStoreLies(t *testing.T) {
	p, objects, ledger := newPhotos(t)
	u := uploadOf(eventstest.NewFirm(t), "image/jpeg", jpegOf("lost"))
	objects.After = func(method string) error {
		if method == "put" {
			objects.Replace(events.Key{Firm: u.Firm, SHA256: u.SHA256}, jpegOf(""))
		}
		return nil
	}
	if _, err := p.Put(t.Context(), u); !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("Put = %v, want ErrUnavailable", err)
	}
	if k, _ := ledger.Find(t.Context(), u.Firm, u.SHA256); k.State != events.FileReceived {
		t.Errorf("the ledger says %q, want received", k.State)
	}
}

func TestPutDurableStore(t *testing.T) {
	p, objects, _ := newPhotos(t)
	objects.Synced = true
	k, err := p.Put(t.Context(), uploadOf(eventstest.NewFirm(t), "image/jpeg", jpegOf("")))
	if err != nil || k.State != events.FileDurable {
		t.Errorf("Put = %s, %v; want durable", k.State, err)
	}
}

func TestPutNoRoom(t *testing.T) {
	p, _, _ := newPhotos(t)
	p.Spool += "/missing"
	u := uploadOf(eventstest.NewFirm(t), "image/jpeg", jpegOf(""))
	u.Bytes = -1 // nobody knows how many come: they wait on disk
	if _, err := p.Put(t.Context(), u); !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("Put = %v, want ErrUnavailable", err)
	}
}

func TestFirmsApart(t *testing.T) {
	p, _, _ := newPhotos(t)
	u := uploadOf(eventstest.NewFirm(t), "image/jpeg", jpegOf("private"))
	if _, err := p.Put(t.Context(), u); err != nil {
		t.Fatal(err)
	}
	if _, _, err := p.Open(t.Context(), eventstest.NewFirm(t), u.SHA256); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("Open for another firm = %v, want ErrNotFound", err)
	}
}

func TestOpenDamaged(t *testing.T) {
	p, objects, _ := newPhotos(t)
	u := uploadOf(eventstest.NewFirm(t), "image/jpeg", jpegOf("seen"))
	if _, err := p.Put(t.Context(), u); err != nil {
		t.Fatal(err)
	}
	objects.Replace(events.Key{Firm: u.Firm, SHA256: u.SHA256}, jpegOf("sEEn"))
	_, body, err := p.Open(t.Context(), u.Firm, u.SHA256)
	if err != nil {
		t.Fatal(err)
	}
	defer body.Close()
	if _, err := io.ReadAll(body); !errors.Is(err, events.ErrDamaged) {
		t.Errorf("reading = %v, want ErrDamaged", err)
	}
}

func TestDerived(t *testing.T) {
	p, _, _ := newPhotos(t)
	k := events.Key{Firm: eventstest.NewFirm(t), SHA256: events.Digest{7}, Size: events.Small}
	if _, _, err := p.OpenDerived(t.Context(), k); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("OpenDerived = %v, want ErrNotFound", err)
	}
	if err := p.PutDerived(t.Context(), k, jpegOf("small")); err != nil {
		t.Fatal(err)
	}
	body, size, err := p.OpenDerived(t.Context(), k)
	if err != nil || size != int64(len(jpegOf("small"))) {
		t.Fatalf("OpenDerived = %d, %v", size, err)
	}
	body.Close()

	original := k
	original.Size = events.Original
	if err := p.PutDerived(t.Context(), original, jpegOf("")); err == nil {
		t.Error("PutDerived replaced an original")
	}
	if err := p.PutDerived(t.Context(), k, []byte("<svg/>")); err == nil {
		t.Error("PutDerived took something that is no JPEG")
	}
}

func TestParseSize(t *testing.T) {
	for text, want := range map[string]events.Size{"": events.Original, "320": events.Small, "1600": events.Large} {
		if got, err := events.ParseSize(text); err != nil || got != want {
			t.Errorf("ParseSize(%q) = %d, %v; want %d", text, got, err, want)
		}
	}
	for _, text := range []string{"0", "321", "../x", "-320"} {
		if _, err := events.ParseSize(text); err == nil {
			t.Errorf("ParseSize(%q) gave no error", text)
		}
	}
}

func FuzzSniff(f *testing.F) {
	for _, b := range [][]byte{jpegOf(""), soundMP4(), soundWebM(), []byte("\x00\x00\x00\x08ftyp\x00\x00\x00\x00moov")} {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		if media := events.Sniff(b); media == events.MediaJPEG && !bytes.HasPrefix(b, []byte{0xff, 0xd8}) {
			t.Errorf("%q was taken for a JPEG", b[:min(len(b), 16)])
		}
	})
}

// forgetful takes everything and keeps nothing.
type forgetful struct{ *eventstest.MemObjects }

func (f forgetful) Put(context.Context, events.Object, io.ReaderAt) (told bool, err error) {
	return false, nil
}

// A store that says that it took a file and does not show it is away: not found would be
// an answer about the file, after which a phone does not try again.
func TestPutIntoAForgetfulStore(t *testing.T) {
	p, objects, ledger := newPhotos(t)
	p.Objects = forgetful{objects}
	u := uploadOf(eventstest.NewFirm(t), "image/jpeg", jpegOf(""))
	_, err := p.Put(t.Context(), u)
	if !errors.Is(err, events.ErrUnavailable) || errors.Is(err, events.ErrNotFound) {
		t.Errorf("Put = %v, want ErrUnavailable alone", err)
	}
	if k, _ := ledger.Find(t.Context(), u.Firm, u.SHA256); k.State != events.FileReceived {
		t.Errorf("the ledger says %q, want received", k.State)
	}
}

// watching remembers how many bytes of a body a store was given.
type watching struct {
	*eventstest.MemObjects
	given int64
}

func (w *watching) Put(ctx context.Context, o events.Object, body io.ReaderAt) (told bool, err error) {
	for one := make([]byte, 1); w.given < o.Bytes; w.given++ {
		if _, err := body.ReadAt(one, w.given); err != nil {
			return false, err
		}
	}
	return w.MemObjects.Put(ctx, o, body)
}

// While the digest is reckoned a file is on its way already: a store that compares
// nothing never gets the whole of one that is not what its sender named.
func TestPutHoldsTheLastByteBack(t *testing.T) {
	p, objects, ledger := newPhotos(t)
	store := &watching{MemObjects: objects}
	p.Objects = store
	u := uploadOf(eventstest.NewFirm(t), "image/jpeg", jpegOf("held back"))
	u.SHA256[0]++
	var bad *levelling.InputError
	if _, err := p.Put(t.Context(), u); !errors.As(err, &bad) || bad.Field != "sha256" {
		t.Errorf("Put = %v, want an InputError on sha256", err)
	}
	if store.given >= u.Bytes {
		t.Errorf("the store was given %d bytes of %d", store.given, u.Bytes)
	}
	wantNothing(t, p, objects, ledger, u)
}

// A store that answers with the digest of what it holds is not asked again.
func TestPutIntoATellingStore(t *testing.T) {
	p, objects, _ := newPhotos(t)
	objects.Tells = true
	objects.Before = func(method string) error {
		if method == "stat" {
			t.Error("it was asked again")
		}
		return nil
	}
	if k, err := p.Put(t.Context(), uploadOf(eventstest.NewFirm(t), "image/jpeg", jpegOf("told"))); err != nil || k.State != events.FileStored {
		t.Errorf("Put = %s, %v; want stored", k.State, err)
	}
}
