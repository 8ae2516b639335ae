package jobs

import (
	"maps"
	"slices"

	"relevel/events"
)

// hazard is something dangerous that was recorded at a place no plan knows, or
// together with one. It is set aside like all that contradicts the plan, and
// said all the same: somebody may be lying beside that jack.
type hazard struct {
	mark
	what string
}

// watchAdrift keeps the hazards of an event that was set aside, until one that
// ends them comes, aside or not.
func (s *State) watchAdrift(e placed, body events.Body) {
	switch b := body.(type) {
	case *events.Jacking:
		for _, m := range b.Moves {
			s.adrift[m.Support] = hazard{markOf(e), "on a jack, and not counted"}
		}
	case *events.JackDown:
		delete(s.adrift, b.Support)
	case *events.SupportWork:
		switch b.Step {
		case events.TakenOut:
			s.adrift[b.Support] = hazard{markOf(e), "out, and not counted"}
		case events.Set:
			delete(s.adrift, b.Support)
		}
	}
}

// leftAdrift lists the hazards by place.
func (s *State) leftAdrift() []Left {
	var out []Left
	for _, place := range slices.Sorted(maps.Keys(s.adrift)) {
		h := s.adrift[place]
		out = append(out, Left{What: h.what, Place: place, Since: h.at, By: h.by, Seq: h.seq, Dangerous: true})
	}
	return out
}
