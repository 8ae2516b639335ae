package server_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events/pgdb/pgtest"
	"relevel/server"
	"relevel/server/pgbell"
)

// Two servers are asked the same at every door, for two firms that are alike. Whatever
// one of them asks the database is done, is lost to another transaction and is done
// again. Its answers are those of the other, and in the end it has as many rows.
func TestEveryTransactionLoses(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	l := pgtest.NewLosing(t, db)
	clock := newHandClock()
	plain := newSiteOn(t, db, withClock(clock), withBell(db))
	losing := newSiteOn(t, l.DB, withClock(clock), withBell(l.DB))
	start := clock.ms.Load()
	one := newWorld(t, plain, clock)
	clock.ms.Store(start)
	two := newWorld(t, losing, clock)
	for i, d := range readingFirst(doors) {
		l.As([]string{pgtest.SerializationFailure, pgtest.DeadlockDetected}[i%2])
		q := d.request()
		clock.tick()
		a, b := one.ask(t, q, one.names), two.ask(t, q, two.names)
		if diff := cmp.Diff(at(plain, one.plain(a, two)), at(losing, two.plain(b, one))); diff != "" {
			t.Errorf("%s: where transactions lose (+) it is not answered as where they do not (-):\n%s", d, diff)
		}
		if b.status == http.StatusServiceUnavailable {
			t.Errorf("%s is answered 503", d)
		}
	}
	if said := losing.log.String(); strings.Contains(said, pgtest.OnPurpose) {
		t.Errorf("what lost is told: %s", lineWith(said, pgtest.OnPurpose))
	}
	if diff := cmp.Diff(plain.countsOf(t, one), plain.countsOf(t, two)); diff != "" {
		t.Errorf("rows of the firm whose transactions lose (+), and of the other (-):\n%s", diff)
	}
	if t.Logf("%d transactions lost", l.Lost()); l.Lost() < int64(len(doors)) {
		t.Error("so few lost that little was tested")
	}
}

// countsOf counts a firm's rows, table by table.
func (s *site) countsOf(t *testing.T, w *world) map[string]string {
	t.Helper()
	all := s.everythingOf(t, w)
	for table, digest := range all {
		all[table], _, _ = strings.Cut(digest, " ")
	}
	return all
}

func withBell(db *pgtest.DB) func(*server.Config) {
	return func(c *server.Config) { c.Bell = pgbell.New(db.App) }
}

// at is a text in which the address of a server stands for itself.
func at(s *site, text string) string {
	_, port, _ := strings.Cut(strings.TrimPrefix(s.URL, "http://"), ":")
	return strings.ReplaceAll(text, ":"+port, ":{port}")
}
