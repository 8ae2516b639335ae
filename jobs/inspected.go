package jobs

import (
	"slices"

	"relevel/events"
)

// Inspected is one inspection and whether it has been put right since.
type Inspected struct {
	events.Inspection
	Entry   Entry
	Waiting bool // it did not pass, and no later one at that stage did
}

// Inspections lists what inspectors said, what is still to pass first and the
// last before the earlier.
func Inspections(all []Entry) []Inspected {
	var waiting, rest []Inspected
	passed := map[string]bool{}
	for _, e := range slices.Backward(Counting(all)) {
		b, is := e.Body.(*events.Inspection)
		if !is {
			continue
		}
		one := Inspected{Inspection: *b, Entry: e}
		switch {
		case b.Answer == "passed":
			passed[b.Stage] = true
		case !passed[b.Stage]:
			one.Waiting = true
		}
		if one.Waiting {
			waiting = append(waiting, one)
		} else {
			rest = append(rest, one)
		}
	}
	return append(waiting, rest...)
}

// HolesToBeSeen are the supports whose hole is dug and not filled, and that no
// inspector has passed: concrete waits for that.
func (s *State) HolesToBeSeen() []string {
	var out []string
	for _, at := range s.floor.plan.Supports {
		if w := &s.place(at.ID).work; w.holeOpen() && !w.inspected {
			out = append(out, at.ID)
		}
	}
	return out
}
