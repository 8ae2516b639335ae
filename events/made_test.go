package events_test

import (
	"errors"
	"io"
	"testing"

	"relevel/events"
	"relevel/events/eventstest"
)

// What is made lies beside the photos and is none of them: nobody finds it by the way
// that photos are found.
func TestMade(t *testing.T) {
	firm := eventstest.NewFirm(t)
	p := &events.Photos{Objects: &eventstest.MemObjects{}, Ledger: &eventstest.MemLedger{}, Spool: t.TempDir()}
	sum, size, err := p.PutMade(t.Context(), firm, "application/pdf", func(w io.Writer) error {
		_, err := io.WriteString(w, "a pack")
		return err
	})
	if err != nil || size != 6 {
		t.Fatalf("%v: %d bytes", err, size)
	}
	body, size, err := p.OpenMade(t.Context(), firm, sum)
	if err != nil || size != 6 {
		t.Fatalf("%v: %d bytes", err, size)
	}
	got, err := io.ReadAll(body)
	if err = errors.Join(err, body.Close()); err != nil || string(got) != "a pack" {
		t.Errorf("%v: %q", err, got)
	}
	if _, _, err := p.Open(t.Context(), firm, sum); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("opened as a photo: %v", err)
	}
	if _, _, err := p.OpenMade(t.Context(), eventstest.NewFirm(t), sum); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("opened for another firm: %v", err)
	}
	for range 2 {
		if err := p.Objects.Delete(t.Context(), events.Key{Firm: firm, SHA256: sum, Size: events.Made}); err != nil {
			t.Error(err)
		}
	}
	if _, _, err := p.OpenMade(t.Context(), firm, sum); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("opened after it was dropped: %v", err)
	}
}

// What was changed in the store is not handed out as it was made, and what was not
// written to its end is not kept.
func TestMadeIsWhatWasMade(t *testing.T) {
	firm := eventstest.NewFirm(t)
	objects := &eventstest.MemObjects{}
	p := &events.Photos{Objects: objects, Ledger: &eventstest.MemLedger{}, Spool: t.TempDir()}
	sum, _, err := p.PutMade(t.Context(), firm, "application/pdf", func(w io.Writer) error {
		_, err := io.WriteString(w, "a pack")
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	key := events.Key{Firm: firm, SHA256: sum, Size: events.Made}
	objects.Replace(key, []byte("a back"))
	body, _, err := p.OpenMade(t.Context(), firm, sum)
	if err != nil {
		t.Fatal(err)
	}
	defer body.Close()
	if _, err := io.ReadAll(body); !errors.Is(err, events.ErrDamaged) {
		t.Errorf("%v, want that it was changed", err)
	}
	broken := errors.New("half way")
	if _, _, err := p.PutMade(t.Context(), firm, "application/pdf", func(io.Writer) error { return broken }); !errors.Is(err, broken) {
		t.Errorf("%v", err)
	}
}
