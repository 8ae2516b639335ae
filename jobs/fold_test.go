package jobs_test

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

func near(t *testing.T, what string, got *jobs.Figure, want float64) {
	t.Helper()
	if got == nil {
		t.Fatalf("%s is unknown, want %v", what, want)
	}
	if math.Abs(got.MM-want) > 1e-6 {
		t.Errorf("%s is %v, want %v", what, got.MM, want)
	}
}

func TestSurveyGivesRemainingLift(t *testing.T) {
	s, _ := agreed(t)
	for name, want := range map[string]struct {
		remaining float64
		words     string
	}{"B1-1": {0, "level"}, "B1-2": {12, "12 to go"}, "B1-3": {20, "20 to go"}, "B1-4": {5, "5 to go"}} {
		v := s.support(name)
		near(t, name+" remaining", v.Remaining, want.remaining)
		if v.ToGo != want.words {
			t.Errorf("%s reads %q, want %q", name, v.ToGo, want.words)
		}
	}
	p := s.picture()
	if p.Aim.SetBy != "B1-1" || *p.Aim.Height != 0 {
		t.Errorf("the aim is set by %s at %v, want B1-1 at 0", p.Aim.SetBy, *p.Aim.Height)
	}
}

// US Navy NAVEDTRA 14081 (reference values §1.6): ground at 233.0 ft reads 4.0,
// a point reads 4.5 where 239.0 is wanted: 6.5 ft to fill.
func TestRemainingNavyExample(t *testing.T) {
	s := newSite(t)
	ft := func(v float64) *events.Length { return &events.Length{Value: v, Unit: "ft"} }
	s.record(events.KindPlan, events.Plan{
		Supports: []events.Support{{ID: "P"}},
		Datums:   []events.Datum{{ID: "BM", X: 5, Height: ft(233)}},
	})
	u := s.record(events.KindSetup, events.Setup{Instrument: "level", Datums: []events.DatumReading{{Datum: "BM", Staff: ft(4)}}})
	s.record(events.KindReading, events.Reading{Setup: u, Point: "P", Face: events.FloorFace, Staff: ft(4.5)})
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: ft(239), AgreedBy: "owner"})
	if v := s.support("P"); math.Abs(v.Remaining.MM-6.5*304.8) > 1e-6 {
		t.Errorf("%v mm to fill, want 6.5 ft", v.Remaining.MM)
	}
}

// The stop figure is what the staff must read at the target: plane − target.
func TestStopFigure(t *testing.T) {
	t.Run("WholeWay", func(t *testing.T) {
		s, u := agreed(t)
		v := s.support("B1-3")
		if v.Stop == nil || v.Stop.StaffMM != 1000 || v.Stop.ByMM != 20 || v.Stop.Setup != u {
			t.Errorf("stop %+v, want 1000 after 20 mm", v.Stop)
		}
	})
	t.Run("OneStep", func(t *testing.T) {
		s, _ := surveyed(t)
		s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner", StepMM: 5})
		v := s.support("B1-3")
		if v.Stop == nil || v.Stop.StaffMM != 1015 || v.Stop.ByMM != 5 {
			t.Errorf("stop %+v, want 1015 after 5 mm of the 20", v.Stop)
		}
	})
	t.Run("NotToMove", func(t *testing.T) {
		for name, against := range map[string]func(*site){
			"Stopped": func(s *site) { s.record(events.KindStop, events.Stop{Why: "crack", Ask: "engineer"}) },
			"Tied": func(s *site) {
				s.record(events.KindTie, events.Tie{Tie: "gas", What: "gas line", Supports: []string{"B1-3"}})
			},
			"Out": func(s *site) {
				s.record(events.KindSupportWork, events.SupportWork{Support: "B1-3", Step: events.TakenOut})
			},
		} {
			s, _ := agreed(t)
			against(s)
			if v := s.support("B1-3"); v.Stop != nil || strings.Contains(v.Next, "Jack up") {
				t.Errorf("%s: stop figure %+v, next %q", name, v.Stop, v.Next)
			}
		}
	})
	t.Run("NoLiveSetup", func(t *testing.T) {
		s, u := agreed(t)
		s.record(events.KindSetupClosed, events.SetupClosed{Setup: u, Datums: []events.DatumReading{{Datum: "D1", Staff: mm(1000)}}})
		if v := s.support("B1-3"); v.Stop != nil {
			t.Errorf("a stop figure %+v without a live set-up", v.Stop)
		}
	})
}

func TestJackingMovesUntilRead(t *testing.T) {
	s, u := agreed(t)
	s.jack("B1-3", 8)
	v := s.support("B1-3")
	near(t, "remaining after jacking", v.Remaining, 12)
	if v.Basis != jobs.IsExpected || v.State != jobs.OnJack || !v.OnJack {
		t.Errorf("after jacking: %s, %s", v.State, v.Basis)
	}
	if !s.support("B1-2").Stale || s.support("B1-1").Stale {
		t.Error("the neighbour beside it is to be read again, the one beyond is not")
	}
	s.read(u, "B1-3", 1013)
	v = s.support("B1-3")
	near(t, "remaining by rule and reading", v.Remaining, 12+2.0/3) // expected 12 ± 1.4, read 13 ± 1
	if v.Basis != jobs.WasRead {
		t.Errorf("after reading it is %s", v.Basis)
	}
	near(t, "as found", v.AsFound, -20)
	near(t, "survey", v.Survey, -20)
}

func TestRepeatsAverageBetweenMoves(t *testing.T) {
	s, u := surveyed(t)
	s.read(u, "B1-2", 1013)
	v := s.support("B1-2")
	near(t, "mean of 1012 and 1013", v.Present, -12.5)
	one := s.support("B1-3").Present.SD
	if v.Present.SD >= one {
		t.Errorf("two readings are no better known (%v) than one (%v)", v.Present.SD, one)
	}
}

func TestDoubt(t *testing.T) {
	t.Run("OddOneStaysOut", func(t *testing.T) {
		s, u := agreed(t)
		s.read(u, "B1-3", 1020)
		s.read(u, "B1-3", 1120) // a slip of 100 mm
		v := s.support("B1-3")
		near(t, "present", v.Present, -20)
		if !strings.Contains(v.Doubt, "100 mm below") || !strings.Contains(v.Next, "Read it again") {
			t.Errorf("doubt %q, next %q", v.Doubt, v.Next)
		}
		s.read(u, "B1-3", 1021)
		v = s.support("B1-3")
		near(t, "present", v.Present, -20-1.0/3)
		if v.Doubt != "" {
			t.Errorf("still in doubt: %s", v.Doubt)
		}
	})
	t.Run("Reopened", func(t *testing.T) {
		s, u := agreed(t)
		s.read(u, "B1-3", 1020)
		s.read(u, "B1-3", 1030)
		s.read(u, "B1-3", 1031)
		v := s.support("B1-3")
		near(t, "nothing is averaged across a jump", v.Present, -30.5)
		if !strings.Contains(v.Doubt, "moved, or misread before") {
			t.Errorf("doubt %q", v.Doubt)
		}
	})
	t.Run("OneEarlierReadingBlamesNobody", func(t *testing.T) {
		for _, staff := range []float64{1010, 1030} {
			s, u := agreed(t)
			s.read(u, "B1-3", staff)
			v := s.support("B1-3")
			near(t, "the smaller lift is acted on", v.Remaining, math.Min(20, staff-1000))
			if !strings.Contains(v.Doubt, "the one reading before it") {
				t.Errorf("doubt %q", v.Doubt)
			}
		}
	})
	t.Run("NotWhatTheJackSays", func(t *testing.T) {
		s, u := agreed(t)
		s.jack("B1-3", 8)
		s.read(u, "B1-3", 1112)
		if v := s.support("B1-3"); !strings.Contains(v.Doubt, "about 100 mm below what the moves") {
			t.Errorf("doubt %q", v.Doubt)
		}
	})
}

// Two faces of one place are tied by an offset that is unknown until both were
// read between the same moves.
func TestFaces(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	u := s.laser(1000)
	s.readOn(events.FloorFace, "carpet", u, "B1-3", 870) // floor at 130
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(150), AgreedBy: "owner"})
	near(t, "remaining on the floor", s.support("B1-3").Remaining, 20)
	s.readOn(events.BearerFace, "", u, "B1-3", 1020) // underside at −20: floor is 150 above it
	s.jack("B1-3", 8)
	s.readOn(events.BearerFace, "", u, "B1-3", 1011) // rose 9
	near(t, "the floor follows, by what its own reading is worth", s.support("B1-3").Remaining, 11+2.0/3)

	// The carpet comes up: 7 mm lower, and no drop of the floor.
	s.readOn(events.FloorFace, "boards", u, "B1-3", 868)
	v := s.support("B1-3")
	if v.Doubt != "" {
		t.Errorf("a false doubt: %s", v.Doubt)
	}
	near(t, "the target goes down with the covering", v.Remaining, 11+2.0/3)
	s.jack("B1-3", 5)
	s.readOn(events.BearerFace, "", u, "B1-3", 1006)
	near(t, "and still does", s.support("B1-3").Remaining, 6.5)
}

// A floor that was only jacked since it was read is not judged by a bearer that
// nothing ties to it.
func TestExpectedFloorIsNotJudged(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	u := s.laser(1000)
	s.readOn(events.FloorFace, "", u, "B1-3", 870)
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(150), AgreedBy: "owner"})
	s.jack("B1-3", 20)
	s.pack("B1-3", events.Final, 20)
	s.down("B1-3")
	s.fix("B1-3")
	s.sign("B1-3", s.readOn(events.BearerFace, "", u, "B1-3", 1000))
	v := s.support("B1-3")
	if v.Basis != jobs.IsExpected || v.State == jobs.IsSigned || !strings.Contains(v.Next, "between the same moves") {
		t.Errorf("%s, %s, next %q", v.State, v.Basis, v.Next)
	}
}

// A floor height carried from the bearer is as stale as the bearer's reading.
func TestCarriedHeightGoesStale(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	u := s.laser(1000)
	s.readOn(events.FloorFace, "", u, "B1-2", 870)
	s.readOn(events.BearerFace, "", u, "B1-2", 1020)
	s.jack("B1-3", 5)
	s.readOn(events.BearerFace, "", u, "B1-2", 1018)
	s.jack("B1-3", 5)
	if v := s.support("B1-2"); v.Basis != jobs.WasRead || !v.Stale {
		t.Errorf("%s, stale %t", v.Basis, v.Stale)
	}
}

// A doubt about the bearer is one about the floor that is judged by it.
func TestDoubtOfAnotherFace(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	u := s.laser(1000)
	s.readOn(events.FloorFace, "", u, "B1-3", 870)
	s.readOn(events.BearerFace, "", u, "B1-3", 1020)
	s.jack("B1-3", 5)
	s.readOn(events.BearerFace, "", u, "B1-3", 1115)
	if v := s.support("B1-3"); !strings.Contains(v.Doubt, "100 mm below") {
		t.Errorf("doubt %q", v.Doubt)
	}
}

func TestCoveringChangesUnderTheAim(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	u := s.laser(1000)
	s.readOn(events.FloorFace, "carpet", u, "B1-3", 870)
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(150), AgreedBy: "owner"})
	s.readOn(events.FloorFace, "boards", u, "B1-3", 877)
	s.flagged("B1-3 was read on boards, and before on carpet")
}

// A reading that does not name its covering is of the same one.
func TestCoveringLeftOut(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	u := s.laser(1000)
	s.readOn(events.FloorFace, "carpet", u, "B1-3", 870)
	s.readOn(events.BearerFace, "", u, "B1-3", 1020)
	s.readOn(events.FloorFace, "", u, "B1-3", 890)
	if v := s.support("B1-3"); !strings.Contains(v.Doubt, "about 20 mm below") {
		t.Errorf("doubt %q", v.Doubt)
	}
}

func TestFaceWithoutOffsetGivesNoTarget(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	u := s.laser(1000)
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(150), Face: events.FloorFace, AgreedBy: "owner"})
	s.readOn(events.BearerFace, "", u, "B1-3", 1020)
	v := s.support("B1-3")
	if v.Remaining != nil || !strings.Contains(v.Next, "between the same moves") {
		t.Errorf("remaining %v, next %q: the offset is unknown", v.Remaining, v.Next)
	}
}

// A whole support, step by step: each state as it is, and what it lacks.
func TestStates(t *testing.T) {
	s, u := agreed(t)
	expect := func(want jobs.Standing, next string) {
		t.Helper()
		v := s.support("B1-3")
		if v.State != want || !strings.HasPrefix(v.Next, next) {
			t.Errorf("%s, next %q; want %s, next %q…", v.State, v.Next, want, next)
		}
	}
	expect(jobs.IsRead, "Jack up 20, stop at 1\u2009000")
	s.jack("B1-3", 10)
	expect(jobs.OnJack, "Read it, or pack")
	s.pack("B1-3", events.Temporary, 10)
	expect(jobs.OnTemporary, "Read it")
	s.read(u, "B1-3", 1010)
	s.jack("B1-3", 11)
	s.read(u, "B1-3", 999)
	expect(jobs.OnJack, "Measure the gap")
	s.pack("B1-3", events.Final, 19)
	expect(jobs.IsPacked, "Jack down")
	s.down("B1-3")
	expect(jobs.IsDown, "Read it")
	r := s.read(u, "B1-3", 1001)
	expect(jobs.IsDown, "Fix it")
	s.fix("B1-3")
	expect(jobs.IsFixed, "Sign")
	if m := s.support("B1-3").Missing; len(m) != 0 {
		t.Fatalf("nothing should be missing: %q", m)
	}
	s.sign("B1-3", r)
	expect(jobs.IsSigned, "Done")
	s.jack("B1-4", 3)
	expect(jobs.HasLapsed, "Read it: B1-4 moved")
	if g := s.support("B1-3").Signature; g == nil || !strings.Contains(g.Lapsed, "B1-4") {
		t.Errorf("signature %+v", g)
	}
}

func TestSignedTooEarly(t *testing.T) {
	s, u := agreed(t)
	s.jack("B1-3", 20)
	s.pack("B1-3", events.Final, 20)
	r := s.read(u, "B1-3", 1000)
	s.sign("B1-3", r)
	v := s.support("B1-3")
	if v.State == jobs.IsSigned || !slices.Contains(v.Signature.Lacking, "the jack away") || !slices.Contains(v.Signature.Lacking, "fixed") {
		t.Errorf("%s, lacking %q", v.State, v.Signature.Lacking)
	}
}

func TestRestBeforeSigning(t *testing.T) {
	s, u := surveyed(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner", RestHours: 12})
	s.jack("B1-3", 20)
	s.pack("B1-3", events.Final, 20)
	s.down("B1-3")
	s.fix("B1-3")
	s.read(u, "B1-3", 1000)
	if m := s.support("B1-3").Missing; !slices.Equal(m, []string{"a reading after its rest of 12 h"}) {
		t.Errorf("missing %q", m)
	}
	s.clock = s.clock.Add(12 * time.Hour)
	s.read(u, "B1-3", 1000)
	if m := s.support("B1-3").Missing; len(m) != 0 {
		t.Errorf("missing %q", m)
	}
}

// What is dangerous is said at the top, with who left it.
func TestLeft(t *testing.T) {
	s, _ := agreed(t)
	s.jack("B1-2", 3)
	s.record(events.KindBlocking, events.Blocking{Place: "K1", Supports: []string{"B1-3"}, What: "crossed timbers", Base: "sleepers"})
	s.record(events.KindSupportWork, events.SupportWork{Support: "B1-3", Step: events.TakenOut})
	s.record(events.KindFloorCut, events.FloorCut{Cut: "C1", Where: "hall"})
	var got []string
	s.record(events.KindDayEnd, events.DayEnd{Out: true})
	for _, l := range s.picture().Left {
		if !l.Dangerous || l.By.IsZero() {
			t.Errorf("%+v", l)
		}
		got = append(got, l.Place+" "+l.What)
	}
	want := []string{"B1-2 on a jack", "B1-3 out", "B1-3 on blocking", "C1 floor cut not covered"}
	if !slices.Equal(got, want) {
		t.Errorf("left %q, want %q", got, want)
	}
	if v := s.support("B1-3"); v.State != jobs.IsOut || !v.OnBlock {
		t.Errorf("%s, on blocking %t", v.State, v.OnBlock)
	}
	s.record(events.KindSupportWork, events.SupportWork{Support: "B1-3", Step: events.Set})
	s.record(events.KindBlockingRemoved, events.BlockingRemoved{Place: "K1"})
	s.record(events.KindFloorClosed, events.FloorClosed{Cut: "C1", How: "ply", Covered: true})
	s.down("B1-2")
	if left := s.picture().Left; len(left) != 0 { // letting a jack down begins no day
		t.Errorf("left %+v", left)
	}
}

func TestAbove(t *testing.T) {
	s, _ := surveyed(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(-3), AgreedBy: "owner"})
	if v := s.support("B1-1"); v.ToGo != "3 above: leave" {
		t.Errorf("%q", v.ToGo)
	}
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(-3), LowerMM: 5, AgreedBy: "owner"})
	if v := s.support("B1-1"); v.ToGo != "bring down 3 (agreed)" || v.Next != "Bring down 3, as agreed" {
		t.Errorf("%q, next %q", v.ToGo, v.Next)
	}
}

// The stage follows the work, not what was passed over on the way.
func TestStage(t *testing.T) {
	s := newSite(t)
	expect := func(want string) {
		t.Helper()
		if got := s.picture().Stage; got != want {
			t.Errorf("the stage is %q, want %q", got, want)
		}
	}
	s.record(events.KindPlan, events.Plan{
		Supports: []events.Support{{ID: "A"}, {ID: "B", X: 2}},
		Datums:   []events.Datum{{ID: "D1", X: -1, Height: mm(0), OffBuilding: true}, {ID: "D2", X: 5}},
		Bearers:  []events.Bearer{{ID: "B1", Supports: []string{"A", "B"}}},
	})
	u := s.laser(1000)
	s.read(u, "A", 1000)
	s.read(u, "B", 1006)
	expect("condition record")
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner"})
	s.jack("B", 3)
	expect("rounds")
	s.jack("B", 3)
	s.read(u, "B", 1000)
	expect("final packers")
	for _, name := range []string{"A", "B"} {
		s.pack(name, events.Final, 10)
	}
	s.down("B")
	expect("fix")
	s.fix("A")
	s.fix("B")
	expect("rest and read again")
	s.sign("A", s.read(u, "A", 1000))
	expect("rest and read again")
	s.sign("B", s.read(u, "B", 1000))
	expect("hand over")
}
