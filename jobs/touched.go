package jobs

import (
	"maps"
	"slices"

	"relevel/events"
)

// Touched lists the supports whose figures these events, which are in the
// state, may have changed, and which an answer should therefore show.
func (s *State) Touched(es []events.Stored) []string {
	if len(es) == 0 {
		return nil
	}
	if slices.ContainsFunc(es, touchesAll) {
		return s.allSupports()
	}
	first := es[0].Seq
	for _, e := range es {
		first = min(first, e.Seq)
	}
	var names []string
	for _, at := range s.floor.plan.Supports {
		if s.place(at.ID).lastSeq >= first {
			names = append(names, at.ID)
		}
	}
	if s.aim != nil && len(roundLimits(s.aim.agreed)) == 0 {
		names = s.andBeside(names)
	}
	slices.Sort(names)
	return names
}

// andBeside adds the supports along the same bearers and across from some: where
// rounds are planned, what is due at one hangs on those beside it.
func (s *State) andBeside(names []string) []string {
	with := map[string]bool{}
	for _, id := range names {
		with[id] = true
		for _, other := range s.floor.beside[id] {
			with[other] = true
		}
	}
	for _, g := range s.floor.girders {
		if slices.ContainsFunc(g.supports, func(id string) bool { return slices.Contains(names, id) }) {
			for _, id := range g.supports {
				with[id] = true
			}
		}
	}
	return slices.Collect(maps.Keys(with))
}

// touchesAll tells the kinds after which every support reads differently: its
// place, its target, what the staff must read, whether work is stopped.
func touchesAll(e events.Stored) bool {
	switch e.Kind {
	case events.KindPlan, events.KindAim, events.KindVoid, events.KindErased, events.KindInstrumentCheck, events.KindSetup, events.KindSetupClosed, events.KindStop, events.KindGoAhead:
		return true
	}
	return false
}

func (s *State) allSupports() []string {
	names := make([]string, len(s.floor.plan.Supports))
	for i, p := range s.floor.plan.Supports {
		names[i] = p.ID
	}
	return names
}
