package jobs_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

// twoPeg is a check of laser 1 that finds so many mm per metre, up positive,
// on sights of 33 and 3 m.
func twoPeg(perM float64, more ...func(*events.InstrumentCheck)) events.InstrumentCheck {
	c := events.InstrumentCheck{Instrument: "laser 1", Sort: events.TwoPeg, Mid: &events.PegMidway{A: mm(1000), B: mm(1100)},
		Off: &events.PegOff{A: mm(1000 + 33*perM), B: mm(1100 + 3*perM), ToA: 33, ToB: 3}}
	for _, f := range more {
		f(&c)
	}
	return c
}

func halfTurn(tilt float64, more ...func(*events.InstrumentCheck)) events.InstrumentCheck {
	c := events.InstrumentCheck{Instrument: "laser 1", Sort: events.HalfTurn, DistanceM: 30, Difference: mm(60 * tilt)}
	for _, f := range more {
		f(&c)
	}
	return c
}

func on(day string) func(*events.InstrumentCheck) {
	return func(c *events.InstrumentCheck) { c.On = day }
}

func until(day string) func(*events.InstrumentCheck) {
	return func(c *events.InstrumentCheck) { c.GoodUntil = day }
}

func of(instrument string) func(*events.InstrumentCheck) {
	return func(c *events.InstrumentCheck) { c.Instrument = instrument }
}

// checked is the state and its picture.
func (s *site) checked() (*jobs.State, jobs.Picture) {
	state := jobs.Refold(s.job, s.log)
	return state, state.Picture(s.clock)
}

// The set-up is of 2 March.
func TestInstrumentChecks(t *testing.T) {
	for _, tt := range []struct {
		name     string
		checks   []events.InstrumentCheck
		words    string
		due      bool
		high, sd float64 // over 10 m
	}{
		{"None", nil, "no check of it on this job", false, 0, 0},
		{"TwoPeg", []events.InstrumentCheck{twoPeg(0.06)}, "two-peg checked 2 Mar: 0.06 mm per m up", false, 0.6, 10 * 2. / 30},
		{"PointsDown", []events.InstrumentCheck{twoPeg(-0.6)}, "two-peg checked 2 Mar: 0.6 mm per m down", false, -6, 10 * 2. / 30},
		{"True", []events.InstrumentCheck{twoPeg(0.002)}, "two-peg checked 2 Mar: less than 0.01 mm per m", false, 0.02, 10 * 2. / 30},
		{"NameAsItIsWritten", []events.InstrumentCheck{twoPeg(0.06, of(" Laser 1 "))}, "two-peg checked 2 Mar: 0.06 mm per m up", false, 0.6, 10 * 2. / 30},
		{"LastOfTwo", []events.InstrumentCheck{twoPeg(0.3), twoPeg(0.06)}, "two-peg checked 2 Mar: 0.06 mm per m up", false, 0.6, 10 * 2. / 30},
		{"LastByItsDay", []events.InstrumentCheck{twoPeg(0.06, on("2026-02-27")), twoPeg(0.3, on("2025-11-30"))}, "two-peg checked 27 Feb: 0.06 mm per m up", false, 0.6, 10 * 2. / 30},
		{"OfAnotherYear", []events.InstrumentCheck{twoPeg(0.06, on("2025-11-30"))}, "two-peg checked 30 Nov 2025: 0.06 mm per m up", false, 0.6, 10 * 2. / 30},
		{"OfAnotherInstrument", []events.InstrumentCheck{twoPeg(0.06, of("laser 2"))}, "no check of it on this job", false, 0, 0},
		{"AfterIt", []events.InstrumentCheck{twoPeg(0.06, on("2026-03-03"))}, "no check of it on this job", false, 0, 0},
		{"GoodThatDay", []events.InstrumentCheck{twoPeg(0.06, on("2026-02-01"), until("2026-03-02"))}, "two-peg checked 1 Feb: 0.06 mm per m up", false, 0.6, 10 * 2. / 30},
		{"Overdue", []events.InstrumentCheck{twoPeg(0.06, on("2026-02-01"), until("2026-03-01"))}, "its check was good until 1 Mar: check it again", true, 0.6, 10 * 2. / 30},
		{"HalfTurn", []events.InstrumentCheck{halfTurn(0.05)}, "half-turn checked 2 Mar: 0.05 mm per m along that line", false, 0, 0.5},
		{"HalfTurnAfterTwoPeg", []events.InstrumentCheck{twoPeg(0.06, on("2026-02-01")), halfTurn(0.05)},
			"half-turn checked 2 Mar: 0.05 mm per m along that line; two-peg checked 1 Feb: 0.06 mm per m up", false, 0.6, math.Hypot(0.5, 10*2./30)},
		{"TwoPegBehindIsOverdue", []events.InstrumentCheck{twoPeg(0.06, on("2026-02-01"), until("2026-03-01")), halfTurn(0.05)},
			"its check was good until 1 Mar: check it again", true, 0.6, math.Hypot(0.5, 10*2./30)},
		{"TwoPegReplacesHalfTurn", []events.InstrumentCheck{halfTurn(0.05, on("2026-02-01"), until("2026-03-01")), twoPeg(0.06)},
			"two-peg checked 2 Mar: 0.06 mm per m up", false, 0.6, 10 * 2. / 30},
	} {
		t.Run(tt.name, func(t *testing.T) {
			for _, first := range []bool{true, false} { // are the checks recorded before the set-up?
				s := newSite(t)
				s.record(events.KindPlan, bearerPlan())
				var u events.ID
				if !first {
					u = s.laser(1000)
				}
				for _, c := range tt.checks {
					s.record(events.KindInstrumentCheck, c)
				}
				if first {
					u = s.laser(1000)
				}
				state, p := s.checked()
				if got := p.Setups[0]; got.Check != tt.words || got.CheckDue != tt.due {
					t.Errorf("checks first %t: %q, due %t, want %q, %t", first, got.Check, got.CheckDue, tt.words, tt.due)
				}
				if high, sd := state.OverSight(u, 10); math.Abs(high-tt.high) > 1e-9 || math.Abs(sd-tt.sd) > 1e-9 {
					t.Errorf("checks first %t: over 10 m %g ± %g, want %g ± %g", first, high, sd, tt.high, tt.sd)
				}
				flagged := slices.ContainsFunc(p.Flags, func(f jobs.Flag) bool { return f.ID == u && strings.Contains(f.Text, "check it again") })
				if flagged != tt.due {
					t.Errorf("checks first %t: flagged %t, want %t", first, flagged, tt.due)
				}
			}
		})
	}
}

// The error of the line comes off each reading by its own distance, that of the
// datum too, whether the check comes before the readings or after them.
func TestErrorComesOffByDistance(t *testing.T) {
	setup := opened("laser 1", 1000)
	setup.Stand = &events.Position{-1, 8} // 8 m from D1, 10 m from B1-4
	plan := bearerPlan()
	plan.Supports[3].X = 5
	for _, late := range []bool{false, true} {
		s := newSite(t)
		s.record(events.KindPlan, plan)
		if !late {
			s.record(events.KindInstrumentCheck, twoPeg(-0.6))
		}
		s.read(s.record(events.KindSetup, setup), "B1-4", 1020)
		if late {
			s.record(events.KindInstrumentCheck, twoPeg(-0.6))
		}
		// The staff reads 4.8 mm too low on D1, and 6 mm on B1-4.
		near(t, fmt.Sprintf("late %t", late), s.support("B1-4").Present, 1004.8-1026)
		sd := math.Sqrt(2 + (64+100)*math.Pow(2./30, 2))
		if got := s.support("B1-4").Present.SD; math.Abs(got-sd) > 1e-6 {
			t.Errorf("late %t: ± %g, want %g", late, got, sd)
		}
	}
}

// What a set-up says of itself by the metre comes beside what was found.
func TestSetupSaysItsOwnPerMetre(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	s.record(events.KindInstrumentCheck, halfTurn(0.03))
	setup := opened("laser 1", 1000)
	setup.SDMMPerM = 0.04
	u := s.record(events.KindSetup, setup)
	state, _ := s.checked()
	if high, sd := state.OverSight(u, 10); high != 0 || math.Abs(sd-0.5) > 1e-9 {
		t.Errorf("over 10 m %g ± %g, want 0 ± 0.5", high, sd)
	}
}

func TestVoidedCheck(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	s.record(events.KindInstrumentCheck, twoPeg(0.06))
	wrong := s.record(events.KindInstrumentCheck, twoPeg(0.9))
	s.laser(1000)
	s.record(events.KindVoid, events.Void{Event: wrong, Why: "read the wrong peg"})
	_, p := s.checked()
	if got := p.Setups[0].Check; got != "two-peg checked 2 Mar: 0.06 mm per m up" {
		t.Errorf("after the void: %q", got)
	}
	if len(p.Lists.Checks) != 1 {
		t.Errorf("checks %+v, want the one that counts", p.Lists.Checks)
	}
}

// A check counts for set-ups that were folded before it came, where its day is
// theirs or earlier; otherwise nothing is refolded for it.
func TestCheckThatComesLate(t *testing.T) {
	for _, tt := range []struct {
		name  string
		check events.InstrumentCheck
		fold  bool
	}{
		{"SameDay", twoPeg(0.06), false},
		{"EarlierDay", twoPeg(0.06, on("2026-02-01")), false},
		{"LaterDay", twoPeg(0.06, on("2026-03-03")), true},
		{"AnotherInstrument", twoPeg(0.06, of("laser 2")), true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, _ := agreed(t)
			before := jobs.Refold(s.job, s.log)
			s.record(events.KindInstrumentCheck, tt.check)
			if names := jobs.Refold(s.job, s.log).Touched(s.log[len(s.log)-1:]); len(names) != 4 {
				t.Errorf("touched %v, want every support: what was read may read otherwise", names)
			}
			if got := jobs.Fold(before, s.log[len(s.log)-1]); got != tt.fold {
				t.Errorf("folded on: %t, want %t", got, tt.fold)
			}
		})
	}
}

// The day of a check is that of its device's corrected clock, also where the
// check itself is what tells by how much it is off.
func TestCheckByAClockThatIsOff(t *testing.T) {
	s, u := agreed(t)
	before := jobs.Refold(s.job, s.log)
	s.at(2, events.KindInstrumentCheck, twoPeg(0.06))
	e := &s.log[len(s.log)-1]
	ms := -(48 * time.Hour).Milliseconds()
	e.At, e.OffsetMS = e.At.Add(48*time.Hour), &ms
	if jobs.Fold(before, *e) {
		t.Error("a check of the same day was folded on behind the set-up it is about")
	}
	state, _ := s.checked()
	if high, _ := state.OverSight(u, 10); math.Abs(high-0.6) > 1e-9 {
		t.Errorf("%g over 10 m, want 0.6", high)
	}
}

func TestInstrumentsNow(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	s.record(events.KindInstrumentCheck, twoPeg(0.06, of("laser 2"), until("2026-03-04")))
	s.laser(1000)
	s.clock = s.clock.Add(72 * time.Hour)
	_, p := s.checked()
	want := []jobs.Instrument{
		{Name: "laser 1", Check: "no check of it on this job"},
		{Name: "laser 2", Check: "its check was good until 4 Mar: check it again", Due: true},
	}
	if diff := cmp.Diff(want, p.Instruments); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestCheckInTheBook(t *testing.T) {
	s := newSite(t)
	s.record(events.KindInstrumentCheck, twoPeg(-0.6, on("2026-02-01"), until("2026-05-01"), func(c *events.InstrumentCheck) { c.ByWhom = "survey shop" }))
	s.record(events.KindInstrumentCheck, halfTurn(0.05, on("2026-04-01")))
	state, p := s.checked()
	for i, want := range []string{
		"laser 1; two-peg: 0.6 mm per m down on 2026-02-01, good until 2026-05-01; survey shop",
		"laser 1; half-turn: 0.05 mm per m along that line on 2026-04-01",
	} {
		if l := state.Line(s.log[i]); l.What != "Instrument check" || l.Text != want {
			t.Errorf("the book says %s: %q, want %q", l.What, l.Text, want)
		}
		if it := p.Lists.Checks[i]; it.Name != "laser 1" || "laser 1; "+it.Text != want {
			t.Errorf("the list says %+v, want %q", it, want)
		}
	}
	s.flagged("the check of laser 1 is dated 2026-04-01, after it was recorded")
}
