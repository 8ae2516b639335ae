package jobs_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

func opened(instrument string, staff float64) events.Setup {
	return events.Setup{Instrument: instrument, Datums: []events.DatumReading{{Datum: "D1", Staff: mm(staff)}}}
}

// by records as another person.
func (s *site) by(person int, kind events.Kind, body any) events.ID {
	e := s.record(kind, body)
	s.log[len(s.log)-1].By = id(0xb, person)
	return e
}

// Each of two crews gets its stop figure on its own laser, and nobody gets one
// that could be meant for the other.
func TestTwoLasers(t *testing.T) {
	s, u := agreed(t)
	v := s.by(2, events.KindSetup, opened("laser 2", 1500))
	s.record(events.KindReading, events.Reading{Setup: v, Point: "B1-4", Face: events.BearerFace, Staff: mm(1505)})
	if got := s.support("B1-3").Stop; got == nil || got.Setup != u || got.StaffMM != 1000 {
		t.Errorf("B1-3 stops at %+v, want 1000 on the first laser", got)
	}
	if got := s.support("B1-4").Stop; got == nil || got.Setup != v || got.StaffMM != 1500 {
		t.Errorf("B1-4 stops at %+v, want 1500 on the second laser", got)
	}
	s.record(events.KindSetupClosed, events.SetupClosed{Setup: u, Datums: []events.DatumReading{{Datum: "D1", Staff: mm(1000)}}})
	s.by(3, events.KindSetup, opened("laser 3", 1200))
	if got := s.support("B1-3").Stop; got != nil {
		t.Errorf("a stop figure %+v, and two lasers stand that never read it", got)
	}
}

// One laser stands once, also where nobody closed the set-up before.
func TestSetUpAgain(t *testing.T) {
	s, u := agreed(t)
	v := s.by(2, events.KindSetup, opened("Laser 1", 1300))
	if got := s.support("B1-3").Stop; got == nil || got.Setup != v || got.StaffMM != 1300 {
		t.Errorf("B1-3 stops at %+v, want 1300 on the new set-up", got)
	}
	s.read(u, "B1-2", 1012)
	s.flagged("B1-2 was read on a set-up after its laser was set up again")
	if got := s.support("B1-2").Stop; got == nil || got.Setup != u {
		t.Errorf("B1-2 stops at %+v: it was read on the old set-up after all", got)
	}
}

// As many lasers as are reckoned with stand at once. A reading on one that was
// let go, and its closing reading, take it up again in the place of another.
func TestMoreLasersThanPlanes(t *testing.T) {
	for name, before := range map[string]func(*site, events.ID) events.ID{
		"Closed": func(s *site, u events.ID) events.ID {
			return s.record(events.KindSetupClosed, events.SetupClosed{Setup: u, Datums: opened("", 1000).Datums})
		},
		"SetUpAgain": func(s *site, _ events.ID) events.ID { return s.by(1, events.KindSetup, opened("laser 0", 900)) },
	} {
		t.Run(name, func(t *testing.T) {
			s := newSite(t)
			s.record(events.KindPlan, bearerPlan())
			first := s.by(1, events.KindSetup, opened("laser 0", 1000))
			before(s, first)
			for i := range 7 {
				s.by(i+2, events.KindSetup, opened(fmt.Sprint("laser ", i+1), 1500))
			}
			s.record(events.KindSetupClosed, events.SetupClosed{Setup: first, Datums: opened("", 1000).Datums})
			s.read(first, "B1-1", 1010)
			near(t, "read on the one that was let go", s.support("B1-1").Present, -10)
		})
	}
}

// A set-up may stand on a support that nobody read before. It is read, moved and
// judged like any other all the same, and still a point to close on.
func TestSetupOnSupport(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	on := func(staff float64) []events.DatumReading {
		return []events.DatumReading{{Datum: "D1", Staff: mm(1000)}, {Datum: "B1-1", Staff: mm(staff)}}
	}
	u := s.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: on(1010)})
	s.readOn(events.FloorFace, "", u, "B1-1", 870)
	s.read(u, "B1-1", 1010)
	v := s.support("B1-1")
	near(t, "its floor", v.Present, 130)
	if v.Doubt != "" || len(s.picture().Flags) > 0 {
		t.Errorf("doubt %q, flags %v", v.Doubt, s.picture().Flags)
	}
	s.jack("B1-1", 10)
	s.record(events.KindSetupClosed, events.SetupClosed{Setup: u, Datums: on(1000)})
	if d := s.picture().Setups[0].Doubt; d != "" {
		t.Errorf("closed where it was jacked to: %q", d)
	}
}

// Where a job has no datum at all, its heights count from the support that the
// first set-up stood on, also once the readings of that are in doubt.
func TestSetupOnSupportAlone(t *testing.T) {
	s := newSite(t)
	plan := bearerPlan()
	plan.Datums = nil
	s.record(events.KindPlan, plan)
	on := func(name string, staff float64) []events.DatumReading {
		return []events.DatumReading{{Datum: name, Staff: mm(staff)}}
	}
	u := s.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: on("B1-1", 1000)})
	s.read(u, "B1-1", 1000)
	s.read(u, "B1-2", 1012)
	near(t, "B1-1", s.support("B1-1").Present, 0)
	near(t, "B1-2", s.support("B1-2").Present, -12)
	s.record(events.KindSetupClosed, events.SetupClosed{Setup: u, Datums: on("B1-1", 1030)})
	again := s.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: on("B1-2", 1012)})
	s.read(again, "B1-1", 1000)
	s.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: on("B1-3", 1000)})
	if aside := s.picture().SetAside; len(aside) != 1 || !strings.Contains(aside[0].Reason, "nothing it was read on") {
		t.Errorf("set aside: %+v", aside)
	}
	if v := s.support("B1-1"); math.Abs(v.Present.MM) > 1e-3 {
		t.Errorf("B1-1 at %v by the second set-up, want 0", v.Present.MM)
	}
}

// A datum that one set-up writes down twice is one height.
func TestDatumTwiceOnSetup(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	s.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: []events.DatumReading{
		{Datum: "D1", Staff: mm(1000)}, {Datum: "D2", Staff: mm(960)}, {Datum: "D2", Staff: mm(961)}}})
	near(t, "D2", s.picture().Datums[1].Height, 39.5)
	if n := jobs.Refold(s.job, s.log).Unknowns(); n != 3 { // with the plane
		t.Errorf("%d unknowns, want 3", n)
	}
}

// A closing reading that disagrees puts every reading between in doubt, and
// whatever was signed on one. A better set-up replaces them.
func TestDoubtfulSetup(t *testing.T) {
	s, u := finished(t)
	s.record(events.KindSetupClosed, events.SetupClosed{Setup: u, Datums: []events.DatumReading{{Datum: "D1", Staff: mm(1009)}}})
	v := s.support("B1-1")
	if v.State == jobs.IsSigned || !strings.Contains(v.Doubt, "readings between are in doubt") || !strings.Contains(v.Next, "Read it again") {
		t.Errorf("%s, doubt %q, next %q", v.State, v.Doubt, v.Next)
	}
	if got := s.picture().Setups[0].Hanging; len(got) != 4 || got[0] != "B1-1" {
		t.Errorf("%q hang on the set-up, want all four", got)
	}
	again := s.laser(1000)
	s.read(again, "B1-1", 1001)
	v = s.support("B1-1")
	near(t, "by the new set-up alone", v.Present, -1)
	if v.Doubt != "" || v.Next != "Sign" {
		t.Errorf("doubt %q, next %q", v.Doubt, v.Next)
	}
}

// A datum read in between that disagrees does so too, until it is read again.
func TestDatumReadBetween(t *testing.T) {
	s, u := agreed(t)
	s.read(u, "D1", 1040)
	if v := s.support("B1-3"); !strings.Contains(v.Doubt, "D1 reads about 40 mm below") {
		t.Errorf("doubt %q", v.Doubt)
	}
	s.read(u, "D1", 1000)
	if v := s.support("B1-3"); v.Doubt != "" || s.picture().Datums[0].Doubt != "" {
		t.Errorf("still in doubt: %q, %+v", v.Doubt, s.picture().Datums[0])
	}
}

// Two datums, both given at 0.
func twoDatums(t *testing.T) *site {
	s := newSite(t)
	plan := bearerPlan()
	plan.Datums[1].Height = mm(0)
	s.record(events.KindPlan, plan)
	return s
}

// A doubt that two things cast, or the closing reading, is not taken away by one
// datum that reads right again.
func TestDoubtOfMoreThanOneDatum(t *testing.T) {
	closeAt := func(s *site, u events.ID, staff float64) {
		s.record(events.KindSetupClosed, events.SetupClosed{Setup: u, Datums: opened("", staff).Datums})
	}
	for name, against := range map[string]func(*site, events.ID){
		"AndTheClosing": func(s *site, u events.ID) {
			s.read(u, "D2", 1030)
			closeAt(s, u, 1020)
		},
		"AndTheOtherDatum": func(s *site, u events.ID) {
			s.read(u, "D2", 1030)
			s.read(u, "D1", 1030)
		},
		"AndTheOtherDatumBefore": func(s *site, u events.ID) {
			s.read(u, "D1", 1030)
			s.read(u, "D2", 1030)
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := twoDatums(t)
			u := s.laser(1000)
			s.read(u, "B1-1", 1010)
			against(s, u)
			s.read(u, "D2", 1000)
			if d := s.picture().Setups[0].Doubt; d == "" {
				t.Error("no longer in doubt")
			}
		})
	}
}

// That a datum lies where it did, by another set-up, says nothing about the laser
// that read it otherwise.
func TestDatumReadRightFromElsewhere(t *testing.T) {
	s := twoDatums(t)
	u := s.laser(1000)
	s.read(u, "B1-1", 1010)
	s.read(u, "D2", 1030)
	s.read(s.laser(1100), "D2", 1100)
	setups := s.picture().Setups
	if setups[0].Doubt != "" || setups[1].Doubt == "" {
		t.Errorf("the second set-up: %q, the first: %q", setups[0].Doubt, setups[1].Doubt)
	}
}

// A datum that was misread once is trusted again when it agrees with another.
func TestDatumAgreesAgain(t *testing.T) {
	s := newSite(t)
	plan := bearerPlan()
	plan.Datums[1].Height = mm(0)
	plan.Datums = append(plan.Datums, events.Datum{ID: "D3", Height: mm(0)})
	s.record(events.KindPlan, plan)
	all := func(third float64) {
		s.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: []events.DatumReading{
			{Datum: "D1", Staff: mm(1000)}, {Datum: "D2", Staff: mm(1000)}, {Datum: "D3", Staff: mm(third)}}})
	}
	all(1030)
	if d := s.picture().Datums[2].Doubt; !strings.Contains(d, "30 mm below") {
		t.Errorf("misread by 30 mm: %q", d)
	}
	all(1000)
	if d := s.picture().Datums[2].Doubt; d != "" {
		t.Errorf("still in doubt: %q", d)
	}
}

func TestClosingDatumsDisagree(t *testing.T) {
	s := newSite(t)
	plan := bearerPlan()
	plan.Datums[1].Height = mm(0)
	s.record(events.KindPlan, plan)
	both := func(a, b float64) []events.DatumReading {
		return []events.DatumReading{{Datum: "D1", Staff: mm(a)}, {Datum: "D2", Staff: mm(b)}}
	}
	u := s.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: both(1000, 1000)})
	s.record(events.KindSetupClosed, events.SetupClosed{Setup: u, Datums: both(1020, 980)})
	if d := s.picture().Setups[0].Doubt; !strings.Contains(d, "closing datums disagree by 40 mm") {
		t.Errorf("doubt %q", d)
	}
}

// A set-up waits for the height of any of its datums.
func TestSetupWaitsForAnyDatum(t *testing.T) {
	s := newSite(t)
	height := func(name string, h *events.Length) events.Plan {
		return events.Plan{Datums: []events.Datum{{ID: name, Height: h}}}
	}
	s.record(events.KindPlan, height("D1", nil))
	s.record(events.KindPlan, height("D2", nil))
	s.record(events.KindPlan, height("D3", mm(0)))
	s.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: []events.DatumReading{{Datum: "D1", Staff: mm(1)}, {Datum: "D2", Staff: mm(2)}}})
	before := jobs.Refold(s.job, s.log)
	s.record(events.KindPlan, height("D2", mm(70)))
	if jobs.Fold(before, s.log[len(s.log)-1]) {
		t.Error("the height it waited for came, and nothing was refolded")
	}
	if p := s.picture(); len(p.Setups) != 1 || math.Abs(p.Setups[0].Plane.MM-72) > 1e-9 {
		t.Errorf("set-ups %+v, set aside %+v", p.Setups, p.SetAside)
	}
}

func TestDatumHeightChanges(t *testing.T) {
	s, _ := agreed(t)
	plan := bearerPlan()
	plan.Datums[0].Height = mm(50)
	s.record(events.KindPlan, plan)
	s.flagged("D1 is at 50 mm on this plan, and set-ups before took it at 0")
}

// A datum whose height is only about known gives way to one that is held.
func TestDatumIsWeighted(t *testing.T) {
	s := newSite(t)
	plan := bearerPlan()
	plan.Datums[1].Height, plan.Datums[1].SDMM = mm(80), 3
	s.record(events.KindPlan, plan)
	both := []events.DatumReading{{Datum: "D1", Staff: mm(1000)}, {Datum: "D2", Staff: mm(915)}}
	s.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: both})
	p := s.picture()
	// D1 says the plane is at 1 000 ± 1, D2 995 ± √10.
	near(t, "the plane", p.Setups[0].Plane, 1000-5.0/11)
	if d := p.Datums[1].Height; d.MM <= 80 || d.SD >= 3 {
		t.Errorf("D2 at %v, want it to learn from D1", d)
	}
	near(t, "D1, held", p.Datums[0].Height, 0)
}
