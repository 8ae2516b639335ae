package events_test

import (
	"bytes"
	"context"
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
	if k, err := p.Verify(t.Context(), u.Firm, u.SHA256, noon.Add(time.Hour)); err != nil || k.State != events.FileDurable {
		t.Errorf("Verify = %s, %v; want durable", k.State, err)
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
