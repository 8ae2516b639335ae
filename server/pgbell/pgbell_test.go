package pgbell

import (
	"context"
	"slices"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/pgdb/pgtest"
)

// ear hears a bell.
type ear struct {
	firms chan events.ID
	ended chan error
}

func listen(t *testing.T, b *Bell) ear {
	t.Helper()
	e := ear{make(chan events.ID, 1000), make(chan error, 1)}
	ctx, cancel := context.WithCancel(t.Context())
	ready := make(chan struct{})
	go func() {
		e.ended <- b.Listen(ctx, func() { close(ready) }, func(firm events.ID) { e.firms <- firm })
	}()
	t.Cleanup(func() { cancel(); <-e.ended })
	select {
	case <-ready:
	case err := <-e.ended:
		e.ended <- err
		t.Fatal(err)
	case <-time.After(time.Minute):
		t.Fatal("it is not ready")
	}
	return e
}

func (e ear) next(t *testing.T) events.ID {
	t.Helper()
	select {
	case firm := <-e.firms:
		return firm
	case <-time.After(time.Minute):
		t.Fatal("nothing is heard")
	}
	return events.ID{}
}

func newFirms(t *testing.T, n int) []events.ID {
	firms := make([]events.ID, n)
	for i := range firms {
		firms[i] = eventstest.NewFirm(t)
	}
	return firms
}

// The others hear what one rings, all of it, and that one does not.
func TestRing(t *testing.T) {
	db := pgtest.New(t).App
	a, b := New(db), New(db)
	atA, atB := listen(t, a), listen(t, b)
	many := newFirms(t, 200)
	if err := a.Ring(t.Context(), many); err != nil {
		t.Fatal(err)
	}
	for _, firm := range many {
		if got := atB.next(t); got != firm {
			t.Fatalf("heard %s, want %s", got, firm)
		}
	}
	back := newFirms(t, 1)
	if err := b.Ring(t.Context(), back); err != nil {
		t.Fatal(err)
	}
	if got := atA.next(t); !slices.Equal([]events.ID{got}, back) { // not its own, which came before
		t.Errorf("heard %s, want %s", got, back)
	}
}

// After a silence it still hears.
func TestSilence(t *testing.T) {
	db := pgtest.New(t).App
	a, b := New(db), New(db)
	b.silence = 20 * time.Millisecond
	e := listen(t, b)
	time.Sleep(10 * b.silence)
	firms := newFirms(t, 1)
	if err := a.Ring(t.Context(), firms); err != nil {
		t.Fatal(err)
	}
	if got := e.next(t); got != firms[0] {
		t.Errorf("heard %s, want %s", got, firms[0])
	}
}

// Who can hear no more says so.
func TestEarLost(t *testing.T) {
	d := pgtest.New(t)
	e := listen(t, New(d.App))
	_, err := d.Connect(localpg.Superuser).Exec(t.Context(), `SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND usename = $1`, pgdb.App)
	if err != nil {
		t.Fatal(err)
	}
	select {
	case err := <-e.ended:
		if e.ended <- err; err == nil {
			t.Error("it ended well")
		}
	case <-time.After(time.Minute):
		t.Error("it goes on")
	}
}
