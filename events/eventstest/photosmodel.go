package eventstest

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"

	"relevel/events"
	"relevel/events/scrub"
)

// PhotosModel draws what is done with photos over a ledger, while calls fail before or
// after they did their work and bytes decay behind everybody's back. Nobody is told that
// a photo is kept that is not, and what is sent again is mended.
func PhotosModel(t *testing.T, ledger events.Ledger) {
	t.Helper()
	spool := t.TempDir()
	rapid.Check(t, func(r *rapid.T) {
		m := &photosModel{T: r, firm: NewFirm(t), objects: &MemObjects{}, now: RecordedAt, decayed: map[int]bool{}}
		faults := &faults{}
		m.faults = faults
		m.objects.Before, m.objects.After = faults.hook("objects before"), faults.hook("objects after")
		m.photos = &events.Photos{Objects: m.objects, Ledger: failing{ledger, faults}, Spool: spool}
		r.Repeat(map[string]func(*rapid.T){
			"put": m.put, "verify": m.verify, "sweep": m.sweep, "open": m.open, "decay": m.decay, "": m.check,
		})
	})
}

// How many photos there are, and which calls may fail.
const modelPhotos = 3

var failures = []string{
	"objects before put", "objects after put", "objects before stat", "objects after stat", "objects before open",
	"ledger before record", "ledger after record", "ledger before change", "ledger after change", "ledger before find",
}

// faults say which calls fail now.
type faults struct {
	mu   sync.Mutex
	call map[string]bool
}

func (f *faults) draw(r *rapid.T) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.call = map[string]bool{}
	if rapid.Bool().Draw(r, "something fails") {
		f.call[rapid.SampledFrom(failures).Draw(r, "fails")] = true
	}
}

func (f *faults) none() {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.call = nil
}

func (f *faults) check(call string) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.call[call] {
		return fmt.Errorf("%w: %s", events.ErrUnavailable, call)
	}
	return nil
}

func (f *faults) hook(where string) Hook {
	return func(method string) error { return f.check(where + " " + method) }
}

// failing is a ledger whose calls fail.
type failing struct {
	events.Ledger
	faults *faults
}

func (f failing) around(method string, do func() error) error {
	if err := f.faults.check("ledger before " + method); err != nil {
		return err
	}
	if err := do(); err != nil {
		return err
	}
	return f.faults.check("ledger after " + method)
}

// Record implements events.Ledger.
func (f failing) Record(ctx context.Context, k events.Kept) error {
	return f.around("record", func() error { return f.Ledger.Record(ctx, k) })
}

// Change implements events.Ledger.
func (f failing) Change(ctx context.Context, was, now events.Kept) error {
	return f.around("change", func() error { return f.Ledger.Change(ctx, was, now) })
}

// Find implements events.Ledger.
func (f failing) Find(ctx context.Context, firm events.ID, file events.Digest) (k events.Kept, err error) {
	err = f.around("find", func() error {
		k, err = f.Ledger.Find(ctx, firm, file)
		return err
	})
	return k, err
}

type photosModel struct {
	*rapid.T
	firm    events.ID
	photos  *events.Photos
	objects *MemObjects
	faults  *faults
	now     time.Time
	decayed map[int]bool // whose bytes were spoiled after they were stored
}

func (m *photosModel) photo(n int) (body []byte, digest events.Digest) {
	body = fmt.Appendf(nil, "\xff\xd8\xff\xe0 photo %d of %s", n, m.firm)
	return body, sha256.Sum256(body)
}

func (m *photosModel) draw(r *rapid.T) (n int, body []byte, digest events.Digest) {
	m.now = m.now.Add(time.Second)
	m.faults.draw(r)
	n = rapid.IntRange(0, modelPhotos-1).Draw(r, "photo")
	body, digest = m.photo(n)
	return n, body, digest
}

// put sends a photo. An error is never one that a sender would take for good.
func (m *photosModel) put(r *rapid.T) {
	n, body, digest := m.draw(r)
	defer m.faults.none()
	kept, err := m.photos.Put(m.Context(), events.Upload{
		Firm: m.firm, SHA256: digest, Bytes: int64(len(body)), Media: events.MediaJPEG, At: m.now, Body: bytes.NewReader(body),
	})
	if err != nil && !errors.Is(err, events.ErrUnavailable) || errors.Is(err, events.ErrNotFound) {
		r.Fatalf("Put: %v", err)
	}
	if err == nil && !kept.State.Safe() {
		r.Fatalf("Put answers %s", kept.State)
	}
	if m.whole(n) { // also one that was answered with an error
		m.decayed[n] = false
	}
}

// whole reports whether the store has the bytes of a photo.
func (m *photosModel) whole(n int) bool {
	body, digest := m.photo(n)
	m.objects.mu.Lock()
	defer m.objects.mu.Unlock()
	return bytes.Equal(m.objects.bodies[events.Key{Firm: m.firm, SHA256: digest}], body)
}

// verify calls durable what is whole and nothing else.
func (m *photosModel) verify(r *rapid.T) {
	n, _, digest := m.draw(r)
	defer m.faults.none()
	kept, err := m.photos.Verify(m.Context(), m.firm, digest, m.now)
	if err == nil && kept.State == events.FileDurable && !m.whole(n) {
		r.Fatalf("photo %d is called durable and is not there", n)
	}
	if errors.Is(err, events.ErrDamaged) && m.whole(n) {
		r.Fatalf("photo %d is whole, and %v", n, err)
	}
}

func (m *photosModel) sweep(r *rapid.T) {
	m.draw(r)
	defer m.faults.none()
	state := rapid.SampledFrom([]events.FileState{events.FileReceived, events.FileStored, events.FileDurable}).Draw(r, "state")
	scrubber := scrub.Scrubber{Photos: m.photos}
	found, err := scrubber.Firm(m.Context(), events.KeptQuery{Firm: m.firm, State: state, Before: m.now, Limit: 2}, m.now)
	if err != nil && !errors.Is(err, events.ErrUnavailable) {
		r.Fatalf("Firm = %+v, %v", found, err)
	}
}

// open gives the bytes that were sent, or an error.
func (m *photosModel) open(r *rapid.T) {
	_, want, digest := m.draw(r)
	defer m.faults.none()
	_, body, err := m.photos.Open(m.Context(), m.firm, digest)
	if err != nil {
		return
	}
	defer body.Close()
	if got, err := io.ReadAll(body); err == nil && !bytes.Equal(got, want) {
		r.Fatalf("read %q as whole, want %q", got, want)
	}
}

// decay spoils or takes away what the store has.
func (m *photosModel) decay(r *rapid.T) {
	n, body, digest := m.draw(r)
	m.faults.none()
	if !m.whole(n) {
		return
	}
	key := events.Key{Firm: m.firm, SHA256: digest}
	if rapid.Bool().Draw(r, "gone") {
		if err := m.objects.Delete(m.Context(), key); err != nil {
			r.Fatal(err)
		}
	} else {
		m.objects.Replace(key, append([]byte("x"), body[1:]...))
	}
	m.decayed[n] = true
}

// check holds the ledger to the store: what it calls safe is there, unless it decayed
// since. What decayed is found by a look, and mended by whoever sends it again.
func (m *photosModel) check(r *rapid.T) {
	for n := range modelPhotos {
		body, digest := m.photo(n)
		kept, err := m.photos.Ledger.Find(m.Context(), m.firm, digest)
		if errors.Is(err, events.ErrNotFound) {
			continue
		}
		if err != nil {
			r.Fatal(err)
		}
		if kept.State.Safe() && !m.whole(n) && !m.decayed[n] {
			r.Fatalf("photo %d is called %s and is not there", n, kept.State)
		}
		if m.decayed[n] && rapid.IntRange(0, 9).Draw(r, "mend") == 0 {
			m.mend(r, n, body, digest)
		}
	}
}

func (m *photosModel) mend(r *rapid.T, n int, body []byte, digest events.Digest) {
	m.now = m.now.Add(time.Second)
	if kept, err := m.photos.Verify(m.Context(), m.firm, digest, m.now); kept.State.Safe() {
		r.Fatalf("photo %d decayed and is called %s, %v", n, kept.State, err)
	}
	kept, err := m.photos.Put(m.Context(), events.Upload{
		Firm: m.firm, SHA256: digest, Bytes: int64(len(body)), Media: events.MediaJPEG, At: m.now, Body: bytes.NewReader(body),
	})
	if err != nil || !kept.State.Safe() || !m.whole(n) {
		r.Fatalf("photo %d was sent again and is %s, %v", n, kept.State, err)
	}
	m.decayed[n] = false
}
