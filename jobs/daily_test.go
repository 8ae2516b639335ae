package jobs_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

func (s *site) checkSafety() {
	s.record(events.KindSafetyCheck, events.SafetyCheck{Sentences: []events.Initialled{{Sentence: "Blocking to hand", Initials: "rm"}}})
}

// unflagged checks that no flag says these words.
func (s *site) unflagged(words string) {
	s.t.Helper()
	if n := s.flags(words); n != 0 {
		s.t.Errorf("%d flags say %q", n, words)
	}
}

func (s *site) flags(words string) (n int) {
	for _, f := range s.picture().Flags {
		if strings.Contains(f.Text, words) {
			n++
		}
	}
	return n
}

// The first jacking of a day wants a safety check before it, is recorded without
// one all the same, and is flagged once.
func TestSafetyCheckOfTheDay(t *testing.T) {
	const missing = "no safety check was recorded on this day"
	s, _ := agreed(t)
	s.checkSafety()
	if !s.picture().Checked {
		t.Error("checked, and not said to be")
	}
	s.jack("B1-3", 3)
	s.unflagged(missing)
	s.clock = s.clock.AddDate(0, 0, 1)
	if s.picture().Checked {
		t.Error("yesterday's check is none of today's")
	}
	s.jack("B1-3", 3)
	s.jack("B1-2", 3)
	if n := s.flags(missing); n != 1 {
		t.Errorf("flagged %d times", n)
	}
	if v := s.support("B1-3"); !v.OnJack {
		t.Error("and it counts")
	}
}

// A check that another phone sends late was there before the lift all the same, and
// which day it is goes by the zone of the site.
func TestSafetyCheckArrivesLate(t *testing.T) {
	const missing = "no safety check was recorded on this day"
	s, _ := agreed(t)
	s.clock = s.clock.AddDate(0, 0, 1)
	checked := s.clock
	s.clock = checked.Add(time.Hour)
	s.jack("B1-3", 3)
	if s.flags(missing) != 1 {
		t.Error("nobody has checked yet")
	}
	s.clock = checked
	s.at(2, events.KindSafetyCheck, events.SafetyCheck{Sentences: []events.Initialled{{Sentence: "Blocking to hand", Initials: "rm"}}})
	s.unflagged(missing)
	if morning := checked.UTC(); !jobs.Refold(s.job, s.log).Picture(morning.Add(time.Hour)).Checked {
		t.Error("it is the same day on the site, whatever the day is in Greenwich")
	}
	for _, body := range []struct {
		kind events.Kind
		body any
	}{
		{events.KindFloorCut, events.FloorCut{Cut: "c1", Where: "hall", Cover: "sheet"}},
		{events.KindSupportWork, events.SupportWork{Support: "B1-2", Step: events.TakenOut}},
	} {
		s.clock = s.clock.AddDate(0, 0, 1)
		s.unflagged("was taken out, and no safety check")
		before := s.flags(missing)
		s.record(body.kind, body.body)
		if s.flags(missing) != before+1 {
			t.Errorf("%s before the check of its day", body.kind)
		}
	}
}

// People are below from the check or the first work on, until the day's end says
// that all are out.
func TestPeopleBelow(t *testing.T) {
	below := func(s *site) bool {
		return slices.ContainsFunc(s.picture().Left, func(l jobs.Left) bool { return l.Place == "people" })
	}
	s, _ := agreed(t)
	if below(s) {
		t.Error("nobody went below yet")
	}
	s.checkSafety()
	if !below(s) {
		t.Error("after the check they are below")
	}
	s.record(events.KindDayEnd, events.DayEnd{})
	if !below(s) {
		t.Error("nobody said that they are out")
	}
	if n := len(s.picture().Left); n != 1 {
		t.Errorf("they are said to be below %d times", n)
	}
	s.record(events.KindDayEnd, events.DayEnd{Out: true})
	if below(s) {
		t.Error("all are out")
	}
}

// What was turned off for the work stays off until a day's end says that it is on.
func TestServicesOff(t *testing.T) {
	s, _ := agreed(t)
	off := func() (words []string) {
		for _, l := range s.picture().Left {
			if l.What == "still off" {
				words = append(words, l.Place)
			}
		}
		return words
	}
	check := func(services ...string) {
		s.record(events.KindSafetyCheck, events.SafetyCheck{Sentences: []events.Initialled{{Sentence: "Circuits are off", Initials: "rm"}}, Off: services})
	}
	check("power to the kitchen", "gas")
	s.record(events.KindDayEnd, events.DayEnd{Out: true})
	s.clock = s.clock.AddDate(0, 0, 1)
	check("gas")
	if got := off(); !slices.Equal(got, []string{"power to the kitchen", "gas"}) {
		t.Errorf("%q", got)
	}
	if text := s.picture().Lists.Safety[0].Text; text != "1 sentence initialled; off: power to the kitchen, gas" {
		t.Errorf("%q", text)
	}
	s.record(events.KindDayEnd, events.DayEnd{Out: true, On: true})
	if got := off(); got != nil {
		t.Errorf("on again: %q", got)
	}
}

// 50 mm at 20 MPa is 39 kN, give or take a tenth: past 42, and not past 44.
func TestOverRating(t *testing.T) {
	s, _ := agreed(t)
	push := func(m events.Move) {
		m.Support, m.By, m.Gauge = "B1-3", mm(1), events.Rule
		s.record(events.KindJacking, events.Jacking{Moves: []events.Move{m}})
	}
	push(events.Move{PressureMPa: 20, BoreMM: 50, RatedKN: 44})
	push(events.Move{PressureMPa: 20, BoreMM: 50})
	push(events.Move{PressureMPa: 20, RatedKN: 1})
	push(events.Move{BoreMM: 50, RatedKN: 1})
	s.unflagged("and is marked")
	push(events.Move{PressureMPa: 20, BoreMM: 50, RatedKN: 42})
	s.flagged("B1-3: the jack pushed with about 39 kN (35 to 43), and is marked 42")
	push(events.Move{Jack: "red bottle", PressureMPa: 20, BoreMM: 20, RatedKN: 6.5})
	s.flagged("B1-3: red bottle pushed with about 6.3 kN (5.7 to 6.9), and is marked 6.5")
}

// A hole is seen before it is filled, by a step of the work or by an inspection.
func TestInspectedBeforePouring(t *testing.T) {
	const unseen = "no inspection of the hole is recorded"
	step := func(s *site, step events.WorkStep) {
		s.record(events.KindSupportWork, events.SupportWork{Support: "B1-3", Step: step})
	}
	s, _ := agreed(t)
	step(s, events.Dug)
	step(s, events.Poured)
	s.flagged(unseen)
	for _, see := range []func(*site){
		func(s *site) { step(s, events.SeenInspector) },
		func(s *site) {
			s.record(events.KindInspection, events.Inspection{Who: "council", Stage: "hole", Answer: "passed", Supports: []string{"B1-3"}})
		},
	} {
		s, _ := agreed(t)
		step(s, events.Dug)
		see(s)
		step(s, events.Poured)
		s.unflagged(unseen)
		step(s, events.Dug)
		step(s, events.Poured)
		s.flagged(unseen)
	}
}

func TestManyOnBlocking(t *testing.T) {
	s, _ := agreed(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(0), MaxBlocked: 1, AgreedBy: "owner"})
	for i, name := range []string{"B1-2", "B1-3"} {
		s.unflagged("on blocking at once")
		s.record(events.KindBlocking, events.Blocking{Place: string(rune('K' + i)), Supports: []string{name}, What: "crossed timbers", Base: "sleepers"})
	}
	s.flagged("2 supports are on blocking at once, and at most 1 was agreed")
}
