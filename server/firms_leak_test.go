package server_test

import (
	"context"
	"testing"

	"relevel/events"
	"relevel/jobs"
	"relevel/server"
)

// leakyStore forgets the firm in one place or another.
type leakyStore struct {
	jobs.Store
	firm   *events.ID // whose things come to light
	people bool       // in a list of people
	crews  bool       // where a crew is looked for
}

func (s *leakyStore) ListPeople(ctx context.Context, firm events.ID) ([]jobs.Person, error) {
	list, err := s.Store.ListPeople(ctx, firm)
	if s.people && firm != *s.firm {
		theirs, _ := s.Store.ListPeople(ctx, *s.firm)
		list = append(list, theirs...)
	}
	return list, err
}

func (s *leakyStore) ListCrews(ctx context.Context, firm events.ID) ([]jobs.Crew, error) {
	list, err := s.Store.ListCrews(ctx, firm)
	if s.crews && firm != *s.firm {
		theirs, _ := s.Store.ListCrews(ctx, *s.firm)
		list = append(list, theirs...)
	}
	return list, err
}

// A server that forgets the firm in one place is found out: by what it shows, or by
// what it answers where it shows nothing.
func TestALeakIsFound(t *testing.T) {
	for name, leak := range map[string]struct {
		store leakyStore
		door  string
	}{
		"List":   {leakyStore{people: true}, "GET /api/v1/people"},
		"Page":   {leakyStore{people: true}, "GET /people"},
		"Oracle": {leakyStore{crews: true}, "POST /api/v1/jobs"}, // takes another's crew, and shows nothing
	} {
		t.Run(name, func(t *testing.T) {
			clock := newHandClock()
			var opened events.ID // none is, while the worlds are made
			leak.store.firm = &opened
			s := newSite(t, withClock(clock), func(c *server.Config) {
				leak.store.Store = c.Store
				c.Store = &leak.store
			})
			start := clock.ms.Load()
			var worlds [3]*world
			for i := range worlds {
				clock.ms.Store(start)
				worlds[i] = newWorld(t, s, clock)
			}
			opened = worlds[0].firm
			pair := twins{clock, worlds[0], nobody(t, worlds[0]), worlds[1], worlds[2]}
			var faults []string
			for _, d := range doors {
				if d.route == leak.door && !d.takes {
					for _, keys := range swaps(d.request(), worlds[0]) {
						faults = append(faults, pair.ask(t, d.request(), keys)...)
					}
				}
			}
			if len(faults) == 0 {
				t.Error("it was not found")
			}
		})
	}
}
