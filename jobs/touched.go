package jobs

import (
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
	slices.Sort(names)
	return names
}

// touchesAll tells the kinds after which every support reads differently: its
// place, its target, what the staff must read, whether work is stopped.
func touchesAll(e events.Stored) bool {
	switch e.Kind {
	case events.KindPlan, events.KindAim, events.KindVoid, events.KindInstrumentCheck, events.KindSetup, events.KindSetupClosed, events.KindStop, events.KindGoAhead:
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
