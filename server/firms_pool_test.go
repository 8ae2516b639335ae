package server_test

import (
	"context"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/jobs"
	"relevel/server"
)

// One connection serves two firms in turn, and one of them in every bad way there
// is: refused, broken off, out of time, in a panic, while somebody listens. The
// other finds its own after each, and nothing of the first.
func TestFirmsOnOneConnection(t *testing.T) {
	clock := newHandClock()
	shared := *sharedDB(t)
	db, err := pgdb.Open(t.Context(), oneConnection(shared.DSN(pgdb.App)))
	must(t, err)
	t.Cleanup(db.Close)
	shared.App = db
	trap := &trappedStore{}
	s := newSiteOn(t, &shared, withClock(clock), func(c *server.Config) {
		trap.Store = c.Store
		c.Store = trap
	})
	one, two := newWorld(t, s, clock), newWorld(t, s, clock)
	for name, bad := range map[string]func(){
		"Answered":   func() { one.ask(t, request{method: "GET", path: "/jobs/{job}"}, one.names) },
		"NotFound":   func() { one.ask(t, request{method: "GET", path: "/jobs/{job}"}, two.names) },
		"Refused":    func() { one.add409(t) },
		"Unreadable": func() { one.ask(t, request{method: "POST", path: "/api/v1/jobs/{job}/events", body: "{"}, one.names) },
		"GivenUp":    func() { one.giveUp(t, trap) },
		"Panic":      func() { one.panics(t, trap) },
		"OutOfTime":  func() { one.outOfTime(t, db) },
		"Listening":  func() { one.ask(t, request{method: "GET", path: "/api/v1/live"}, one.names) },
		"NoFirmAtAll": func() {
			one.ask(t, request{method: "POST", path: "/pair", body: "code=AAAA-AAAA&device=x", media: formMedia}, one.names)
		},
	} {
		t.Run(name, func(t *testing.T) {
			bad()
			for _, path := range []string{"/api/v1/jobs", "/api/v1/phone", "/", "/people", "/jobs/{job}/book", "/api/v1/jobs/{job}/events?exact=1"} {
				a := two.ask(t, request{method: "GET", path: path}, two.names)
				if a.status != http.StatusOK || !strings.Contains(string(a.body), two.word) {
					t.Errorf("%s: status %d, want one's own: %.300s", path, a.status, a.body)
				}
				two.sawNothingOf(t, one, a)
			}
		})
	}
	if made := db.Pool().Stat().MaxConns(); made != 1 {
		t.Errorf("the pool may have %d connections, want one", made)
	}
}

func oneConnection(dsn string) string {
	if strings.Contains(dsn, "?") {
		return dsn + "&pool_max_conns=1"
	}
	return dsn + "?pool_max_conns=1"
}

// trappedStore does something else, once, where a firm's people are listed.
type trappedStore struct {
	jobs.Store
	trap atomic.Pointer[func(context.Context)]
}

func (s *trappedStore) ListPeople(ctx context.Context, firm events.ID) ([]jobs.Person, error) {
	if trap := s.trap.Swap(nil); trap != nil {
		(*trap)(ctx)
	}
	return s.Store.ListPeople(ctx, firm)
}

// add409 makes a transaction of the firm fail.
func (w *world) add409(t *testing.T) {
	t.Helper()
	a := w.ask(t, request{method: "POST", path: "/api/v1/people", body: `{"id":"{person}","name":"another","role":"office"}`}, w.names)
	if a.status != http.StatusConflict {
		t.Errorf("status %d, want a conflict", a.status)
	}
}

// giveUp leaves in the middle of a request.
func (w *world) giveUp(t *testing.T, s *trappedStore) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	leave := func(inside context.Context) { cancel(); <-inside.Done() }
	s.trap.Store(&leave)
	r, err := w.request(ctx, "GET", "/people", nil)
	must(t, err)
	if resp, err := http.DefaultClient.Do(r); err == nil {
		resp.Body.Close()
		t.Errorf("status %d, want it given up", resp.StatusCode)
	}
}

func (w *world) panics(t *testing.T, s *trappedStore) {
	t.Helper()
	bug := func(context.Context) { panic("a bug") }
	s.trap.Store(&bug)
	if a := w.ask(t, request{method: "GET", path: "/people"}, w.names); a.status != http.StatusInternalServerError {
		t.Errorf("status %d, want an internal error", a.status)
	}
}

// outOfTime lets a statement of the firm run into the end of its time.
func (w *world) outOfTime(t *testing.T, db *pgdb.DB) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	err := db.WithFirm(ctx, w.firm, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `SELECT pg_sleep(5)`)
		return err
	})
	if err == nil {
		t.Error("a statement of five seconds was done in time")
	}
}
