package jobs_test

import (
	"slices"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

// dangers are the dangerous things left, in words.
func (s *site) dangers() []string { return s.picture().Brief.Dangerous }

func (s *site) wantDangers(want ...string) {
	s.t.Helper()
	if got := s.dangers(); !slices.Equal(got, want) {
		s.t.Errorf("dangerous: %q, want %q", got, want)
	}
}

// Two crews give one name to two things: none of the two is lost.
func TestNamesRecordedTwice(t *testing.T) {
	t.Run("Tie", func(t *testing.T) {
		s, _ := agreed(t)
		s.record(events.KindTie, events.Tie{Tie: "pipe", What: "waste", Supports: []string{"B1-2"}})
		s.record(events.KindTie, events.Tie{Tie: "pipe", What: "gas line", Supports: []string{"B1-3"}})
		for _, name := range []string{"B1-2", "B1-3"} {
			if v := s.support(name); !slices.Equal(v.Ties, []string{"gas line, and what was named pipe before"}) {
				t.Errorf("%s is tied by %q", name, v.Ties)
			}
		}
		s.flagged("pipe was recorded before")
		s.record(events.KindTieFreed, events.TieFreed{Tie: "pipe"})
		if v := s.support("B1-2"); len(v.Ties) > 0 {
			t.Errorf("freed, and tied by %q", v.Ties)
		}
	})
	t.Run("Cut", func(t *testing.T) {
		s, _ := agreed(t)
		s.record(events.KindFloorCut, events.FloorCut{Cut: "C1", Where: "hall"})
		s.record(events.KindFloorCut, events.FloorCut{Cut: "C1", Where: "bath", Cover: "ply"})
		s.wantDangers("C1 floor cut not covered")
	})
	t.Run("Blocking", func(t *testing.T) {
		s, _ := agreed(t)
		for _, name := range []string{"B1-2", "B1-3"} {
			s.record(events.KindBlocking, events.Blocking{Place: "K1", Supports: []string{name, name}, What: "crossed timbers", Base: "sleepers"})
		}
		s.wantDangers("B1-2 on blocking", "B1-3 on blocking")
		s.record(events.KindBlockingRemoved, events.BlockingRemoved{Place: "K1"})
		s.wantDangers()
	})
}

// A later drawing that forgets a place does not hide the jack under it.
func TestLeftOffThePlan(t *testing.T) {
	s, _ := agreed(t)
	s.jack("B1-4", 3)
	s.jack("D2", 3)
	plan := bearerPlan()
	plan.Supports = plan.Supports[:3]
	plan.Bearers[0].Supports = plan.Bearers[0].Supports[:3]
	s.record(events.KindPlan, plan)
	s.wantDangers("B1-4 on a jack", "D2 on a jack")
}

// Nobody is forgotten under a floor.
func TestLeftSomebodyBelow(t *testing.T) {
	s, _ := agreed(t)
	s.record(events.KindDayEnd, events.DayEnd{Done: "packed up"})
	s.wantDangers("somebody still under the floor at the day's end")
	s.record(events.KindDayEnd, events.DayEnd{Out: true})
	s.wantDangers()
}

// What is there goes before what is said not to be.
func TestJackWhereNothingStands(t *testing.T) {
	s, _ := agreed(t)
	s.jack("B1-3", 3)
	s.record(events.KindFound, events.Found{What: events.NoneHere, ID: "B1-3"})
	if v := s.support("B1-3"); v.State != jobs.OnJack {
		t.Errorf("%s", v.State)
	}
}
