package events_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/events/eventstest"
)

func TestVerify(t *testing.T) {
	tests := map[string]struct {
		decay func(*eventstest.MemObjects, events.Key)
		state events.FileState
		err   error
	}{
		"OK":      {func(*eventstest.MemObjects, events.Key) {}, events.FileDurable, nil},
		"changed": {func(o *eventstest.MemObjects, k events.Key) { o.Replace(k, jpegOf("decaY")) }, events.FileReceived, events.ErrDamaged},
		"cut":     {func(o *eventstest.MemObjects, k events.Key) { o.Replace(k, jpegOf("dec")) }, events.FileReceived, events.ErrDamaged},
		"gone": {func(o *eventstest.MemObjects, k events.Key) {
			_ = o.Delete(context.Background(), k)
		}, events.FileReceived, events.ErrDamaged},
		"away": {func(o *eventstest.MemObjects, _ events.Key) {
			o.Before = func(string) error { return events.ErrUnavailable }
		}, events.FileStored, events.ErrUnavailable},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			p, objects, ledger := newPhotos(t)
			u := uploadOf(eventstest.NewFirm(t), "image/jpeg", jpegOf("decay"))
			if _, err := p.Put(t.Context(), u); err != nil {
				t.Fatal(err)
			}
			test.decay(objects, events.Key{Firm: u.Firm, SHA256: u.SHA256})
			got, err := p.Verify(t.Context(), u.Firm, u.SHA256, noon.Add(time.Hour))
			if !errors.Is(err, test.err) || got.State != test.state {
				t.Errorf("Verify = %s, %v; want %s, %v", got.State, err, test.state, test.err)
			}
			kept, _ := ledger.Find(t.Context(), u.Firm, u.SHA256)
			if diff := cmp.Diff(got, kept); diff != "" {
				t.Errorf("ledger (-answer +kept):\n%s", diff)
			}
			if (kept.Reason != "") != (test.err == events.ErrDamaged) {
				t.Errorf("reason = %q", kept.Reason)
			}

			objects.Before = nil // sending it again mends everything
			u.Body = bytes.NewReader(jpegOf("decay"))
			if k, err := p.Put(t.Context(), u); err != nil || !k.State.Safe() {
				t.Errorf("Put again = %s, %v; want it safe", k.State, err)
			}
			wantFile(t, p, u, jpegOf("decay"))
		})
	}
}

// TestVerifyAfterCrash loses the second record of a Put: the file is in the
// store and the ledger does not say so.
func TestVerifyAfterCrash(t *testing.T) {
	p, _, ledger := newPhotos(t)
	u := uploadOf(eventstest.NewFirm(t), "image/jpeg", jpegOf("crash"))
	records := 0 // the second begins when the first has ended
	ledger.Before = func(method string) error {
		if method != "record" {
			return nil
		}
		if records++; records > 1 {
			return events.ErrUnavailable
		}
		return nil
	}
	if _, err := p.Put(t.Context(), u); !errors.Is(err, events.ErrUnavailable) {
		t.Fatalf("Put = %v, want ErrUnavailable", err)
	}
	q := events.KeptQuery{Firm: u.Firm, State: events.FileReceived, Before: noon.Add(time.Minute), Limit: 10}
	if s, err := p.Sweep(t.Context(), q, noon.Add(time.Hour)); err != nil || s.Verified != 1 {
		t.Errorf("Sweep = %+v, %v; want one verified", s, err)
	}
	wantFile(t, p, u, jpegOf("crash"))
}

func TestVerifyNeverStored(t *testing.T) {
	p, objects, _ := newPhotos(t)
	u := uploadOf(eventstest.NewFirm(t), "image/jpeg", jpegOf("never"))
	objects.Before = func(method string) error {
		if method == "put" {
			return events.ErrUnavailable
		}
		return nil
	}
	if _, err := p.Put(t.Context(), u); !errors.Is(err, events.ErrUnavailable) {
		t.Fatalf("Put = %v, want ErrUnavailable", err)
	}
	if k, err := p.Verify(t.Context(), u.Firm, u.SHA256, noon); err != nil || k.State != events.FileReceived {
		t.Errorf("Verify = %s, %v; want received and no alarm", k.State, err)
	}
}

// Files that never came do not keep the sweep from one that is there: what was looked at
// is last in line.
func TestSweepGoesOn(t *testing.T) {
	p, objects, ledger := newPhotos(t)
	firm := eventstest.NewFirm(t)
	here := uploadOf(firm, "image/jpeg", jpegOf("here"))
	kept, err := p.Put(t.Context(), here)
	if err != nil {
		t.Fatal(err)
	}
	lapsed := kept
	lapsed.State, lapsed.At = events.FileReceived, noon.Add(time.Second)
	if err := ledger.Change(t.Context(), kept, lapsed); err != nil {
		t.Fatal(err)
	}
	objects.Before = func(method string) error {
		if method == "put" {
			return events.ErrUnavailable
		}
		return nil
	}
	if _, err := p.Put(t.Context(), uploadOf(firm, "image/jpeg", jpegOf("never"))); !errors.Is(err, events.ErrUnavailable) {
		t.Fatalf("Put = %v, want ErrUnavailable", err)
	}
	verified := 0
	for hour := range 2 {
		now := noon.Add(time.Duration(hour+1) * time.Hour)
		s, err := p.Sweep(t.Context(), events.KeptQuery{Firm: firm, State: events.FileReceived, Before: now, Limit: 1}, now)
		if err != nil {
			t.Fatal(err)
		}
		verified += s.Verified
	}
	if verified != 1 {
		t.Errorf("%d verified by two sweeps of one file each, want the one that is there", verified)
	}
}

// TestVerifyOvertaken has a second process find damage while the first has
// just read the file back whole: the first may not call it durable.
func TestVerifyOvertaken(t *testing.T) {
	p, _, ledger := newPhotos(t)
	u := uploadOf(eventstest.NewFirm(t), "image/jpeg", jpegOf("contested"))
	was, err := p.Put(t.Context(), u)
	if err != nil {
		t.Fatal(err)
	}
	lapsed := was
	lapsed.State, lapsed.At, lapsed.Reason = events.FileReceived, noon.Add(time.Minute), "found damaged"
	ledger.Before = func(method string) error {
		if method != "change" {
			return nil
		}
		ledger.Before = nil
		return ledger.Change(t.Context(), was, lapsed)
	}
	got, err := p.Verify(t.Context(), u.Firm, u.SHA256, noon.Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(lapsed, got); diff != "" {
		t.Errorf("Verify (-want +got):\n%s", diff)
	}
}

func TestSweep(t *testing.T) {
	p, objects, _ := newPhotos(t)
	firm := eventstest.NewFirm(t)
	for _, text := range []string{"one", "two", "three"} {
		if _, err := p.Put(t.Context(), uploadOf(firm, "image/jpeg", jpegOf(text))); err != nil {
			t.Fatal(err)
		}
	}
	two := events.Key{Firm: firm, SHA256: sha256.Sum256(jpegOf("two"))}
	objects.Replace(two, jpegOf("twO"))

	q := events.KeptQuery{Firm: firm, State: events.FileStored, Before: noon.Add(time.Minute), Limit: 10}
	first, err := p.Sweep(t.Context(), q, noon.Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	if first.Verified != 2 || len(first.Damaged) != 1 || first.Damaged[0].SHA256 != two.SHA256 {
		t.Errorf("Sweep = %+v, want two verified and one damaged", first)
	}
	if again, err := p.Sweep(t.Context(), q, noon.Add(time.Hour)); err != nil || again.Verified != 0 {
		t.Errorf("second sweep = %+v, %v; want nothing left", again, err)
	}

	q.State, q.Before, q.Limit = events.FileDurable, noon.Add(2*time.Hour), 1
	if scrub, err := p.Sweep(t.Context(), q, noon.Add(3*time.Hour)); err != nil || scrub.Verified != 1 {
		t.Errorf("scrub = %+v, %v; want one verified", scrub, err)
	}
}
