package jobs_test

import (
	"slices"
	"strings"
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
	s.wantDangers("people still under the floor at the day's end")
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

func (s *site) step(support string, step events.WorkStep, from string) {
	s.record(events.KindSupportWork, events.SupportWork{Support: support, Step: step, From: from})
}

// What may hurt somebody is recorded like anything else, and said.
func TestUneasyWork(t *testing.T) {
	block := events.Blocking{Place: "K1", Supports: []string{"B1-3"}, What: "crossed timbers", Base: "sleepers"}
	stop := events.Stop{Why: "crack", Ask: "engineer"}
	for words, do := range map[string]func(*site){
		"B1-3 was taken out, and neither blocking nor a jack": func(s *site) { s.step("B1-3", events.TakenOut, "") },
		"old packing was taken out, and neither":              func(s *site) { s.step("B1-3", events.OldPackingOut, "") },
		"K1 was taken away while B1-3 is out": func(s *site) {
			s.record(events.KindBlocking, block)
			s.step("B1-3", events.TakenOut, "")
			s.record(events.KindBlockingRemoved, events.BlockingRemoved{Place: "K1"})
		},
		"B1-3 was loaded before the date": func(s *site) {
			s.jack("B1-3", 3)
			s.step("B1-3", events.Poured, "")
			s.step("B1-3", events.CarriesFrom, "2026-03-20")
			s.down("B1-3")
		},
		"B1-3 was taken out while stopped": func(s *site) {
			s.record(events.KindStop, stop)
			s.step("B1-3", events.TakenOut, "")
		},
		"B1-3 was loaded while stopped": func(s *site) {
			s.jack("B1-3", 3)
			s.record(events.KindStop, stop)
			s.down("B1-3")
		},
		"2 supports are out at once, and at most 1": func(s *site) {
			s.record(events.KindAim, events.Aim{Aim: events.AimHighest, MaxOut: 1, AgreedBy: "owner"})
			s.step("B1-2", events.TakenOut, "")
			s.step("B1-4", events.TakenOut, "")
		},
		"B1-3 was moved after gas line was put back": func(s *site) {
			s.record(events.KindTie, events.Tie{Tie: "gas", What: "gas line", Supports: []string{"B1-3"}})
			s.record(events.KindTieFreed, events.TieFreed{Tie: "gas"})
			s.record(events.KindTieBack, events.TieBack{Tie: "gas", Tested: "no leak"})
			if v := s.support("B1-3"); v.Stop != nil || v.Next != "Free again before it moves: gas line" {
				s.t.Errorf("stop figure %+v, next %q", v.Stop, v.Next)
			}
			s.jack("B1-3", 3)
		},
	} {
		t.Run(words, func(t *testing.T) {
			s, _ := agreed(t)
			do(s)
			s.flagged(words)
		})
	}
}

// A cap does not make a support that is out stand again.
func TestCappedIsNotSet(t *testing.T) {
	s, _ := agreed(t)
	s.step("B1-3", events.TakenOut, "")
	s.step("B1-3", events.Capped, "")
	s.wantDangers("B1-3 out")
}

// There is no stop figure for a pad that does not carry yet.
func TestYoungPadIsNotLifted(t *testing.T) {
	s, _ := agreed(t)
	s.step("B1-3", events.Poured, "")
	if v := s.support("B1-3"); v.Stop != nil {
		t.Errorf("%+v, and no date is set", v.Stop)
	}
	s.step("B1-3", events.CarriesFrom, "2026-03-20")
	if v := s.support("B1-3"); v.Stop != nil {
		t.Errorf("%+v before the date", v.Stop)
	}
	s.clock = s.clock.AddDate(0, 0, 20)
	if v := s.support("B1-3"); v.Stop == nil {
		t.Error("no stop figure after the date")
	}
}

// A place comes down once by what was agreed, and not again and again.
func TestBroughtDownOnce(t *testing.T) {
	s, u := surveyed(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(-10), LowerMM: 4, AgreedBy: "owner"})
	if v := s.support("B1-1"); v.ToGo != "bring down 4 (agreed)" {
		t.Errorf("%q", v.ToGo)
	}
	s.jack("B1-1", -4)
	s.read(u, "B1-1", 1004)
	if v := s.support("B1-1"); v.ToGo != "6 above: leave" || strings.Contains(v.Next, "Bring down") {
		t.Errorf("%q, next %q", v.ToGo, v.Next)
	}
}

func TestNothingToGoAbove(t *testing.T) {
	s, _ := surveyed(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(-30), AgreedBy: "owner"})
	if most := s.picture().Brief.GreatestToGo; most == nil || *most != 0 {
		t.Errorf("greatest to go %v, want 0", most)
	}
}

// The greatest lift of a job has the ± of the support it is of.
func TestGreatestToGoHasItsSD(t *testing.T) {
	s, _ := surveyed(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(30), AgreedBy: "owner"})
	b := s.picture().Brief
	for _, v := range s.picture().Supports {
		if v.Remaining != nil && b.GreatestToGo != nil && v.Remaining.MM == *b.GreatestToGo && v.Remaining.SD == b.GreatestSD && b.GreatestSD > 0 {
			return
		}
	}
	t.Errorf("%+v is the figure of no support", b)
}

// A place left out is not to be read; a jack under it is to be let down.
func TestLeftOutOnJack(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(0), LeftOut: []string{"B1-4"}, AgreedBy: "owner"})
	if next := s.support("B1-4").Next; next != "Left out, as agreed" {
		t.Errorf("next %q", next)
	}
	s.jack("B1-4", 2)
	if next := s.support("B1-4").Next; !strings.Contains(next, "let it down") {
		t.Errorf("next %q", next)
	}
}

// A jack at a place no plan knows is in no reckoning, and stands there all the
// same; so does one that was recorded together with it.
func TestJackedWhereNoPlanKnows(t *testing.T) {
	s, _ := agreed(t)
	expect := func(want ...string) {
		t.Helper()
		var got []string
		for _, l := range s.picture().Left {
			if l.Dangerous {
				got = append(got, l.Place+" "+l.What)
			}
		}
		if !slices.Equal(got, want) || len(s.picture().Brief.Dangerous) != len(want) {
			t.Errorf("left %q, want %q", got, want)
		}
	}
	s.record(events.KindJacking, events.Jacking{Moves: []events.Move{
		{Support: "B1-2", By: mm(3), Gauge: events.Rule}, {Support: "X9", By: mm(3), Gauge: events.Rule},
	}})
	expect("B1-2 on a jack, and not counted", "X9 on a jack, and not counted")
	s.down("B1-2")
	expect("X9 on a jack, and not counted")
	s.record(events.KindSupportWork, events.SupportWork{Support: "X8", Step: events.TakenOut})
	expect("X8 out, and not counted", "X9 on a jack, and not counted")
	s.record(events.KindSupportWork, events.SupportWork{Support: "X8", Step: events.Set})
	s.record(events.KindFound, events.Found{What: events.FoundSupport, ID: "X9", X: 7.2, Bearer: "B1", After: "B1-4"})
	expect("X9 on a jack") // now it counts
}
