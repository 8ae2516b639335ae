package jobs_test

import (
	"strings"
	"testing"

	"relevel/events"
)

// renewal says which steps of replacing a support are done, with those to come in
// brackets.
func (s *site) renewal(name string) string {
	var words []string
	for _, d := range s.support(name).Renewal {
		if d.Done {
			words = append(words, d.Words)
		} else {
			words = append(words, "("+d.Words+")")
		}
	}
	return strings.Join(words, ", ")
}

// A support is replaced step by step, and each says what comes next. The date from
// which a pad carries is set by somebody and never assumed.
func TestStepsOfReplacing(t *testing.T) {
	s, _ := agreed(t)
	if got := s.renewal("B1-3"); got != "" {
		t.Errorf("nothing is replaced: %s", got)
	}
	s.record(events.KindBlocking, events.Blocking{Place: "K", Supports: []string{"B1-3"}, What: "crossed timbers", Base: "sleepers"})
	for _, step := range []struct {
		step events.WorkStep
		from string
		next string
	}{
		{events.TakenOut, "", "Set the new one"},
		{events.Dug, "", "Have the hole seen by the inspector before it is filled"},
		{events.SeenInspector, "", "Pour the pad"},
		{events.Poured, "", "Set the date from which the pad carries"},
		{events.CarriesFrom, "2026-03-09", "Wait: the pad carries from 2026-03-09"},
		{events.Capped, "", "Wait: the pad carries from 2026-03-09"},
	} {
		s.step("B1-3", step.step, step.from)
		if next := s.support("B1-3").Next; next != step.next {
			t.Errorf("after %s: %q, want %q", step.step, next, step.next)
		}
	}
	s.clock = s.clock.AddDate(0, 0, 8)
	if next := s.support("B1-3").Next; next != "Set the new one" {
		t.Errorf("once it carries: %q", next)
	}
	s.step("B1-3", events.Set, "")
	const want = "taken out, dug, seen by the inspector, poured, carries load from 2026-03-09, new one set, capped, (fixed)"
	if got := s.renewal("B1-3"); got != want {
		t.Errorf("%s, want %s", got, want)
	}
	s.step("B1-3", events.Dug, "")
	if got := s.renewal("B1-3"); got != "taken out, dug, (seen by the inspector), (poured), (carries load from a date that somebody sets), (new one set), (capped), (fixed)" {
		t.Errorf("dug again: %s", got)
	}
}

// What the inspector says last counts, and of no support in particular it is said
// of every open hole.
func TestInspectionOfHoles(t *testing.T) {
	const unseen = "no inspection of the hole is recorded"
	inspect := func(s *site, answer string, supports ...string) {
		s.record(events.KindInspection, events.Inspection{Who: "council", Stage: "holes", Answer: answer, Supports: supports})
	}
	s, _ := agreed(t)
	s.step("B1-2", events.Dug, "")
	s.step("B1-3", events.Dug, "")
	inspect(s, "passed")
	inspect(s, "again", "B1-3")
	s.step("B1-2", events.Poured, "")
	s.unflagged(unseen)
	s.step("B1-3", events.Poured, "")
	s.flagged("B1-3 was poured, and " + unseen)
}
