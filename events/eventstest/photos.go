package eventstest

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"sync"
	"testing"
	"time"

	"relevel/events"
)

// Objects checks that a store keeps the contract of events.Objects. Open gives
// a store for one test; it may hold other firms' objects.
func Objects(t *testing.T, open func(t *testing.T) events.Objects) {
	tests := map[string]func(*testing.T, events.Objects){
		"RoundTrip":    objectsRoundTrip,
		"Missing":      objectsMissing,
		"Repeat":       objectsRepeat,
		"Replace":      objectsReplace,
		"KeysApart":    objectsKeysApart,
		"Delete":       objectsDelete,
		"BrokenBody":   objectsBrokenBody,
		"ShortBody":    objectsShortBody,
		"Concurrent":   objectsConcurrent,
		"EndedContext": objectsEndedContext,
		"List":         objectsList,
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) { test(t, open(t)) })
	}
}

// NewFirm makes an id that no other test uses.
func NewFirm(t testing.TB) events.ID {
	t.Helper()
	id, err := events.NewID(time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func objectsRoundTrip(t *testing.T, s events.Objects) {
	// 5 MiB is beyond the part size at which some clients would split.
	for _, n := range []int{1, 4096, 5<<20 + 7} {
		o, body := newObject(NewFirm(t), n)
		mustPut(t, s, o, body)
		wantBody(t, s, o.Key, body)
		if size, err := s.Stat(t.Context(), o.Key); err != nil || size != int64(n) {
			t.Errorf("Stat = %d, %v; want %d", size, err, n)
		}
	}
}

func objectsMissing(t *testing.T, s events.Objects) {
	o, _ := newObject(NewFirm(t), 10)
	wantMissing(t, s, o.Key)
}

func objectsRepeat(t *testing.T, s events.Objects) {
	o, body := newObject(NewFirm(t), 1000)
	for range 3 {
		mustPut(t, s, o, body)
	}
	wantBody(t, s, o.Key, body)
}

func objectsReplace(t *testing.T, s events.Objects) {
	o, first := newObject(NewFirm(t), 3000)
	mustPut(t, s, o, first)
	second, body := newObject(o.Key.Firm, 1000)
	second.Key = o.Key
	mustPut(t, s, second, body)
	wantBody(t, s, o.Key, body)
}

func objectsKeysApart(t *testing.T, s events.Objects) {
	o, body := newObject(NewFirm(t), 100)
	mustPut(t, s, o, body)

	other := o.Key
	other.Firm = NewFirm(t)
	wantMissing(t, s, other)

	for _, size := range []events.Size{events.Small, events.Large} {
		small, smaller := newObject(o.Key.Firm, 50)
		small.Key = events.Key{Firm: o.Key.Firm, SHA256: o.Key.SHA256, Size: size}
		wantMissing(t, s, small.Key)
		mustPut(t, s, small, smaller)
		wantBody(t, s, small.Key, smaller)
	}
	wantBody(t, s, o.Key, body)
}

func objectsDelete(t *testing.T, s events.Objects) {
	o, body := newObject(NewFirm(t), 100)
	small, smaller := newObject(o.Key.Firm, 50)
	small.Key = events.Key{Firm: o.Key.Firm, SHA256: o.Key.SHA256, Size: events.Small}
	mustPut(t, s, o, body)
	mustPut(t, s, small, smaller)
	for range 2 {
		if err := s.Delete(t.Context(), o.Key); err != nil {
			t.Fatalf("Delete: %v", err)
		}
	}
	wantMissing(t, s, o.Key)
	wantBody(t, s, small.Key, smaller)
}

// errBody stands for a disk that fails under the upload.
var errBody = errors.New("body broke")

// brokenBody fails after the first half of its bytes.
type brokenBody []byte

func (b brokenBody) ReadAt(p []byte, off int64) (int, error) {
	if half := int64(len(b) / 2); off < half {
		if n := copy(p, b[off:half]); n == len(p) {
			return n, nil
		}
	}
	return 0, errBody
}

func objectsBrokenBody(t *testing.T, s events.Objects) {
	o, body := newObject(NewFirm(t), 600_000)
	_, err := s.Put(t.Context(), o, brokenBody(body))
	if !errors.Is(err, errBody) {
		t.Errorf("Put of a body that breaks = %v, want its error", err)
	}
	wantMissing(t, s, o.Key)

	mustPut(t, s, o, body)
	_, _ = s.Put(t.Context(), o, brokenBody(body))
	wantBody(t, s, o.Key, body)
}

func objectsShortBody(t *testing.T, s events.Objects) {
	o, body := newObject(NewFirm(t), 5000)
	if _, err := s.Put(t.Context(), o, bytes.NewReader(body[:4000])); err == nil {
		t.Error("Put of fewer bytes than stated gave no error")
	}
	wantMissing(t, s, o.Key)
}

// objectsConcurrent puts one key from many goroutines while others read it:
// nobody may see a part.
func objectsConcurrent(t *testing.T, s events.Objects) {
	o, body := newObject(NewFirm(t), 300_000)
	mustPut(t, s, o, body)
	var wg sync.WaitGroup
	for range 6 {
		wg.Go(func() {
			if _, err := s.Put(t.Context(), o, bytes.NewReader(body)); err != nil {
				t.Errorf("Put: %v", err)
			}
		})
		wg.Go(func() {
			if got, err := readObject(t.Context(), s, o.Key); err != nil || !bytes.Equal(got, body) {
				t.Errorf("read %d bytes, %v; want all %d", len(got), err, len(body))
			}
		})
	}
	wg.Wait()
	wantBody(t, s, o.Key, body)
}

func objectsEndedContext(t *testing.T, s events.Objects) {
	o, body := newObject(NewFirm(t), 100)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := s.Put(ctx, o, bytes.NewReader(body)); !errors.Is(err, context.Canceled) {
		t.Errorf("Put = %v, want context.Canceled", err)
	}
	if _, err := s.Stat(ctx, o.Key); !errors.Is(err, context.Canceled) {
		t.Errorf("Stat = %v, want context.Canceled", err)
	}
	wantMissing(t, s, o.Key)
}

// newObject makes n random bytes and describes them.
func newObject(firm events.ID, n int) (events.Object, []byte) {
	body := make([]byte, n)
	rand.Read(body)
	sum := events.Digest(sha256.Sum256(body))
	key := events.Key{Firm: firm, SHA256: sum}
	return events.Object{Key: key, Bytes: int64(n), SHA256: sum, Media: events.MediaJPEG}, body
}

func mustPut(t *testing.T, s events.Objects, o events.Object, body []byte) {
	t.Helper()
	if _, err := s.Put(t.Context(), o, bytes.NewReader(body)); err != nil {
		t.Fatalf("Put %s: %v", o.Key, err)
	}
}

func wantBody(t *testing.T, s events.Objects, k events.Key, want []byte) {
	t.Helper()
	got, err := readObject(t.Context(), s, k)
	if err != nil || !bytes.Equal(got, want) {
		t.Fatalf("%s holds %d bytes, %v; want the %d that were put", k, len(got), err, len(want))
	}
}

func wantMissing(t *testing.T, s events.Objects, k events.Key) {
	t.Helper()
	if _, err := s.Stat(t.Context(), k); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("Stat of %s = %v, want ErrNotFound", k, err)
	}
	if body, _, err := s.Open(t.Context(), k); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("Open of %s = %v, want ErrNotFound", k, err)
		if err == nil {
			body.Close()
		}
	}
}

func readObject(ctx context.Context, s events.Objects, k events.Key) ([]byte, error) {
	body, size, err := s.Open(ctx, k)
	if err != nil {
		return nil, err
	}
	defer body.Close()
	b, err := io.ReadAll(body)
	if err == nil && int64(len(b)) != size {
		err = fmt.Errorf("read %d bytes of %d", len(b), size)
	}
	return b, err
}
