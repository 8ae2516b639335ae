package jobs

import (
	"slices"

	"relevel/events"
	"relevel/levelling"
)

// foresee learns from a whole set what holds for each of its events: what does
// not count, what any plan knows, how instruments were checked and how the
// clocks were off.
func (s *State) foresee(order []placed) {
	clear(s.voids)
	s.collectErased(order)
	s.collectVoids(order)
	s.collectPlaces(order)
	s.collectChecks(order)
	for _, e := range order {
		s.clocks.learn(e.Stored)
	}
}

// expect lists the events that others may refer to before their turn, but those
// that were applied already.
func (s *State) expect(order []placed, applied map[events.ID]sortKey) {
	s.pending = map[events.ID]placed{}
	for _, e := range order {
		if _, done := applied[e.ID]; pulled(e.Kind) && !done {
			s.pending[e.ID] = e
		}
	}
}

// collectVoids finds what does not count. A void holds whatever its time, and
// cannot be voided itself.
func (s *State) collectVoids(order []placed) {
	isVoid := map[events.ID]bool{}
	for _, e := range order {
		isVoid[e.ID] = e.Kind == events.KindVoid || e.Kind == events.KindErased
	}
	for _, e := range order {
		if e.Kind != events.KindVoid {
			continue
		}
		body, err := events.Open(e.Kind, e.V, e.Body)
		if err != nil {
			continue // set aside in its turn
		}
		if v := body.(*events.Void); !isVoid[v.Event] {
			s.voids[v.Event] = v.Why
		}
	}
}

// collectPlaces makes known what any plan or found event of the set knows, so
// that a plan may come after the readings it explains. A datum's height is that
// of the first plan that gives one, until a later plan's turn comes.
func (s *State) collectPlaces(order []placed) {
	for _, e := range order {
		if _, void := s.voids[e.ID]; void {
			continue
		}
		names, heights := placesIn(e.Stored)
		for _, name := range names {
			s.floor.known[name] = true
		}
		for name, h := range heights {
			if p := s.place(name); !p.planned {
				p.give(h)
			}
		}
	}
}

// placesIn lists the places an event makes known, and the heights it gives to
// datums.
func placesIn(e events.Stored) (names []string, heights map[string]levelling.Height) {
	if e.Kind != events.KindPlan && e.Kind != events.KindFound {
		return nil, nil
	}
	body, err := events.Open(e.Kind, e.V, e.Body)
	if err != nil {
		return nil, nil
	}
	switch b := body.(type) {
	case *events.Plan:
		return placesOn(b)
	case *events.Found:
		if b.What != events.NoneHere {
			names = append(names, b.ID)
		}
	}
	return names, nil
}

func placesOn(p *events.Plan) (names []string, heights map[string]levelling.Height) {
	heights = map[string]levelling.Height{}
	for _, at := range p.Supports {
		names = append(names, at.ID)
	}
	for _, at := range p.Spots {
		names = append(names, at.ID)
	}
	for _, at := range p.Datums {
		names = append(names, at.ID)
		if at.Height != nil {
			heights[at.ID] = levelling.Height{MM: at.Height.MM(), SD: at.SDMM}
		}
	}
	return names, heights
}

// awaited tells whether events folded before would fold to something else now:
// one that was set aside counts, or a set-up's datum gets its height.
func (s *State) awaited(e events.Stored) bool {
	names, heights := placesIn(e)
	for name := range heights {
		if p := s.places[name]; len(s.recent) > 0 && (p == nil || !p.planned) {
			return true
		}
	}
	return s.waits[e.ID.String()] || s.checksEarlier(e) || slices.ContainsFunc(names, func(name string) bool { return s.waits[name] })
}
