package jobs

import (
	"fmt"
	"maps"
	"slices"

	"relevel/events"
)

// The steps of a job in the usual order. The order is shown and forces nothing.
//
// Supports are worked on one by one, so several steps from the rounds to the
// signing are under way at once: the stage is then the first of them that is
// not done. Otherwise it is the furthest step that was begun, or the next one
// after it that is not done; what was passed over on the way stays among what
// is missing.

// stepsOf works out which steps are done and what each still wants.
func (s *State) stepsOf() []Step {
	steps := []struct {
		name    string
		begun   bool
		missing []string
	}{
		{"survey", s.anyPlace(func(p *place) bool { return len(p.faces) > 0 }), s.each("read %s", func(p *place) bool { return len(p.faces) > 0 })},
		{"agree", s.aim != nil, only(s.aim == nil, "the aim, the tolerance and what is left out")},
		{"datums and plan", s.floor.drawn, s.missingDatums()},
		{"condition record", len(s.lists.conditions) > 0, s.missingConditions()},
		{"make safe, free ties", len(s.lists.safety) > 0, s.missingSafety()},
		{"open", len(s.lists.cuts) > 0, nil},
		{"cause", len(s.lists.findings) > 0, s.missingCauses()},
		{"new supports carry", s.anyPlace(func(p *place) bool { return p.work.poured || p.work.out != nil }), s.missingSupports()},
		{"baseline", s.anyPlace(func(p *place) bool { return p.asFound.read() }), s.each("read %s", func(p *place) bool { return p.asFound.read() || p.freshest() != nil })},
		{roundsStep, s.anyPlace(func(p *place) bool { return !p.work.lastMove.IsZero() }), s.each("%s to its target", s.reached)},
		{"final packers", s.anyPlace(hasFinal), s.each("pack %s", func(p *place) bool { return hasFinal(p) || s.untouched(p) })},
		{"fix", s.anyPlace(func(p *place) bool { return p.work.fixed }), s.each("fix %s", func(p *place) bool { return p.work.fixed || s.untouched(p) })},
		{"rest and read again", s.anyPlace(func(p *place) bool { return p.work.down && p.freshest() != nil }), s.each("read %s", func(p *place) bool { return p.freshest() != nil })},
		{"sign", s.anyPlace(func(p *place) bool { return p.work.signed != nil }), s.each("sign %s", isSigned)},
		{"close up", s.anyCutClosed(), s.openCuts()},
		{"put back", s.anyTieBack(), s.tiesNotBack()},
		{"hand over", len(s.lists.handovers) > 0, only(len(s.lists.handovers) == 0, "the hand-over")},
	}
	out := make([]Step, len(steps))
	for i, st := range steps {
		out[i] = Step{Name: st.name, Begun: st.begun, Done: len(st.missing) == 0, Missing: st.missing}
	}
	return out
}

const roundsStep = "rounds"

// stage names where a job stands.
func stage(steps []Step) string {
	furthest := 0
	for i, st := range steps {
		if st.Begun {
			furthest = i
		}
		if st.Begun && st.Name == roundsStep {
			break // the steps after it are looked at in turn
		}
	}
	for _, st := range steps[furthest:] {
		if !st.Done {
			return st.Name
		}
	}
	return "done"
}

func only(is bool, words string) []string {
	if is {
		return []string{words}
	}
	return nil
}

// lifted calls f for every support that is part of the work.
func (s *State) lifted(f func(*place)) {
	for _, p := range s.supports() {
		if !p.noneHere && !s.leftOut(p.id) {
			f(p)
		}
	}
}

func (s *State) anyPlace(is func(*place) bool) bool {
	any := false
	s.lifted(func(p *place) { any = any || is(p) })
	return any
}

// each names the supports for which something is not so.
func (s *State) each(words string, is func(*place) bool) []string {
	var out []string
	if len(s.floor.plan.Supports) == 0 {
		return []string{"a plan with supports"}
	}
	s.lifted(func(p *place) {
		if !is(p) {
			out = append(out, fmt.Sprintf(words, p.id))
		}
	})
	return out
}

func hasFinal(p *place) bool {
	return p.work.packing != nil && p.work.packing.Sort == events.Final
}

func isSigned(p *place) bool { return p.work.signed.stands() }

// reached tells whether a support needs no more lift.
func (s *State) reached(p *place) bool {
	r, known := s.remaining(p)
	return known && r.MM <= s.within()
}

// missingDatums asks for at least two datums, one of them off the building:
// with one alone nobody can tell a datum that sank from a floor that rose.
func (s *State) missingDatums() []string {
	off := false
	for _, d := range s.floor.plan.Datums {
		off = off || d.OffBuilding
	}
	var out []string
	out = append(out, only(len(s.floor.plan.Datums) < 2, s.say("a second datum"))...)
	return append(out, only(!off, s.say("a datum off the building"))...)
}

func (s *State) missingConditions() []string {
	seen := map[string]bool{}
	for _, it := range s.lists.conditions {
		seen[it.Name] = true
	}
	var out []string
	for _, r := range s.floor.plan.Rooms {
		out = append(out, only(!seen[r.Name], r.Name)...)
	}
	return append(out, only(len(s.floor.plan.Rooms) == 0 && len(seen) == 0, "the rooms, before the first lift")...)
}

func (s *State) missingSafety() []string {
	out := only(len(s.lists.safety) == 0, "the safety check")
	for _, it := range s.lists.ties {
		if t := s.lists.tie[it.Name]; t.item == it && !t.freed {
			out = append(out, it.Text)
		}
	}
	return out
}

func (s *State) missingCauses() []string {
	out := only(len(s.lists.findings) == 0, "why it dropped")
	for _, it := range s.lists.findings {
		if it.Open {
			out = append(out, it.Text)
		}
	}
	return out
}

func (s *State) missingSupports() []string {
	var out []string
	s.lifted(func(p *place) {
		out = append(out, only(p.work.out != nil, p.id+" set again")...)
		out = append(out, only(p.work.poured && p.work.carries == "", "the date from which "+p.id+" carries")...)
	})
	return out
}

func (s *State) anyCutClosed() bool {
	for _, c := range s.lists.cut {
		if c.closed {
			return true
		}
	}
	return false
}

func (s *State) openCuts() []string {
	var out []string
	for _, it := range s.lists.cuts {
		if c := s.lists.cut[it.Name]; c.item == it && !c.closed {
			out = append(out, "floor cut "+it.Name)
		}
	}
	return out
}

func (s *State) anyTieBack() bool {
	for _, t := range s.lists.tie {
		if t.back {
			return true
		}
	}
	return false
}

func (s *State) tiesNotBack() []string {
	var out []string
	for _, it := range s.lists.ties {
		if t := s.lists.tie[it.Name]; t.item == it && t.freed && !t.back {
			out = append(out, it.Text)
		}
	}
	return out
}

// loaded lists the supports of the plan, and then any other place where
// something carries load: a later drawing may have forgotten it.
func (s *State) loaded() []string {
	ids := s.allSupports()
	for _, id := range slices.Sorted(maps.Keys(s.places)) {
		w := &s.places[id].work
		if _, drawn := s.floor.neighbours[id]; !drawn && (w.jack != nil || w.out != nil || len(w.blocks) > 0) {
			ids = append(ids, id)
		}
	}
	return ids
}

// left lists what should not be left as it is, the dangerous first.
func (s *State) left() []Left {
	var danger, rest []Left
	add := func(what, place string, m mark, dangerous bool) {
		l := Left{What: what, Place: place, Since: m.at, By: m.by, Seq: m.seq, Dangerous: dangerous}
		if dangerous {
			danger = append(danger, l)
		} else {
			rest = append(rest, l)
		}
	}
	for _, id := range s.loaded() {
		w := &s.place(id).work
		if w.jack != nil {
			add("on a jack", id, *w.jack, true)
		}
		if w.out != nil {
			add("out", id, *w.out, true)
		}
		for _, b := range w.blocks {
			add("on blocking", id, s.block[b].mark, true)
		}
	}
	for _, it := range s.lists.cuts {
		if c := s.lists.cut[it.Name]; c.item == it && !c.covered {
			add("floor cut not covered", it.Name, c.mark, true)
		}
	}
	for _, it := range s.lists.ties {
		if t := s.lists.tie[it.Name]; t.item == it && t.freed && !t.back {
			add("tie not back", it.Text, t.mark, false)
		}
	}
	if people, below := s.leftBelow(); below {
		add(people.What, people.Place, mark{people.Since, people.By, people.Seq}, people.Dangerous)
	}
	danger = append(danger, s.leftAdrift()...)
	return append(danger, append(rest, s.leftOff()...)...)
}
