package jobs_test

import (
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// figures are the figures of one part of a schedule by what they are of.
func figures(p jobs.SchedulePart) map[string][2]float64 {
	out := map[string][2]float64{}
	for _, l := range p.Lines {
		if l.Figure == nil {
			out[l.Item] = [2]float64{math.NaN(), 0}
			continue
		}
		out[l.Item] = [2]float64{math.Round(*l.Figure*1000) / 1000, math.Round(l.PM*1000) / 1000}
	}
	return out
}

var nan = cmp.Comparer(func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) })

// A house of two rooms, reckoned by hand:
//
//	kitchen  K1 +12 ±1, K2 +30 ±2 (rotten: replaced, pad 0.063 m³ in 7 bags), K3 −4 ±2, K4 not read
//	bedroom  B1 +9 ±2, B2 0 ±1 (nothing to do), B3 left out
//
// Lift in all: kitchen 12 + 30 = 42 ±√(1² + 2²) = 2.236; bedroom 9 ±2; the house
// 51 ±√(1² + 2² + 2²) = 3. Bearer: 1.8 ±0.9 m at K2 and 1.6 ±0.7 m at B1, the
// house 3.4 ±1.6, since nobody knows that their ends err apart. Cuts: 0.6 m by 0.9 m
// is 0.54 m², and one without an outline.
func TestScheduleByHand(t *testing.T) {
	lift := func(mm, sd float64) *jobs.Figure { return &jobs.Figure{MM: mm, SD: sd} }
	rounds := 6.0
	p := jobs.Pricing{
		Words: jobs.Australia.Words(), Rooms: []string{"kitchen", "bedroom"}, RoomMM: 410, Hatches: []string{"hatch 1"}, Rounds: &rounds,
		Supports: []jobs.PricedSupport{
			{ID: "K1", Room: "kitchen", Lift: lift(12, 1)}, {ID: "K2", Room: "kitchen", Lift: lift(30, 2), Replace: "rotten", PadM3: 0.063, Bags: 7, PadBy: "presumed"},
			{ID: "K3", Room: "kitchen", Lift: lift(-4, 2)}, {ID: "K4", Room: "kitchen", Unread: true},
			{ID: "B1", Room: "bedroom", Lift: lift(9, 2)}, {ID: "B2", Room: "bedroom", Lift: lift(0, 1)}, {ID: "B3", Room: "bedroom", LeftOut: "the hearth"},
		},
		Stretches: []jobs.BearerRun{{Bearer: "A", Support: "K2", Room: "kitchen", Metres: 1.8, PM: 0.9}, {Bearer: "B", Support: "B1", Room: "bedroom", Metres: 1.6, PM: 0.7}},
		Cuts:      []jobs.PricedCut{{Name: "by the sink", Room: "kitchen", AreaM2: 0.54}, {Name: "hall", Room: "kitchen"}},
		Ties:      []jobs.PricedTie{{Name: "waste", Room: "kitchen", Trade: "plumber"}, {Name: "gas", Trade: "gas fitter"}, {Name: "water", Room: "bedroom", Trade: "plumber"}},
	}
	s := p.Schedule()
	var names []string
	got := map[string]map[string][2]float64{}
	for _, part := range s.Parts {
		name := part.Room
		if part.Whole {
			name = "whole"
		}
		names = append(names, name)
		got[name] = figures(part)
	}
	if diff := cmp.Diff([]string{"kitchen", "bedroom", "", "whole"}, names); diff != "" {
		t.Fatalf("parts (-want +got):\n%s", diff)
	}
	unknown := [2]float64{math.NaN(), 0}
	want := map[string]map[string][2]float64{
		"kitchen": {
			"stumps to pack": {2, 0}, "stumps not read": {1, 0}, "lift in all": {42, 2.236}, "greatest lift": {30, 2}, "to come down in all": {4, 2},
			"stumps to replace": {1, 0}, "pads to pour": {1, 0}, "concrete": {0.063, 0}, "bags of concrete": {7, 0}, "bearer to replace or sister": {1.8, 0.9},
			"floor cuts": {2, 0}, "area of floor cuts": {0.54, 0}, "area of floor cuts without an outline": unknown, "ties, plumber": {1, 0},
		},
		"bedroom": {
			"stumps to pack": {1, 0}, "stumps left out": {1, 0}, "lift in all": {9, 2}, "greatest lift": {9, 2}, "bearer to replace or sister": {1.6, 0.7}, "ties, plumber": {1, 0},
		},
		"": {"ties, gas fitter": {1, 0}},
		"whole": {
			"stumps to pack": {3, 0}, "stumps left out": {1, 0}, "stumps not read": {1, 0}, "lift in all": {51, 3}, "greatest lift": {30, 2}, "to come down in all": {4, 2},
			"stumps to replace": {1, 0}, "pads to pour": {1, 0}, "concrete": {0.063, 0}, "bags of concrete": {7, 0}, "bearer to replace or sister": {3.4, 1.6},
			"floor cuts": {2, 0}, "area of floor cuts": {0.54, 0}, "area of floor cuts without an outline": unknown, "ties, gas fitter": {1, 0}, "ties, plumber": {2, 0},
			"hatches": {1, 0}, "room from the ground to the timber": {410, 0}, "rounds expected": {6, 0},
		},
	}
	if diff := cmp.Diff(want, got, nan); diff != "" {
		t.Errorf("schedule (-want +got):\n%s", diff)
	}
}

// pricedHouse is one bearer of five supports, two metres apart, in two rooms. The
// third is rotten, the bearer is split at the third and fourth, the fifth was not
// read.
func pricedHouse(t *testing.T) *site {
	s := newSite(t)
	plan := events.Plan{
		Bearers: []events.Bearer{{ID: "B1", Supports: []string{"B1-1", "B1-2", "B1-3", "B1-4", "B1-5"}}, {ID: "B2", Supports: []string{"B2-1", "B2-2"}}},
		Datums:  []events.Datum{{ID: "D1", X: -2, Height: &events.Length{Value: 0, Unit: levelling.Millimetre}}},
		Rooms: []events.Room{{Name: "kitchen", Outline: []events.Position{{-1, -1}, {5, -1}, {5, 3}, {-1, 3}}},
			{Name: "bedroom", Outline: []events.Position{{5, -1}, {9, -1}, {9, 3}, {5, 3}}}},
		Hatches: []events.Thing{{Name: "in the hall", Outline: []events.Position{{1, 1}}}},
	}
	for i, id := range plan.Bearers[0].Supports {
		plan.Supports = append(plan.Supports, events.Support{ID: id, X: float64(2 * i)})
	}
	plan.Supports = append(plan.Supports, events.Support{ID: "B2-1", X: 4, Y: 2}, events.Support{ID: "B2-2", X: 6, Y: 2})
	s.record(events.KindPlan, plan)
	mm := func(v float64) *events.Length { return &events.Length{Value: v, Unit: levelling.Millimetre} }
	setup := s.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: []events.DatumReading{{Datum: "D1", Staff: mm(1000)}}})
	for i, staff := range []float64{1000, 1010, 1020, 1005} {
		s.record(events.KindReading, events.Reading{Setup: setup, Point: plan.Supports[i].ID, Face: events.FloorFace, Staff: mm(staff)})
	}
	s.record(events.KindReading, events.Reading{Setup: setup, Point: "B1-5", Face: events.FloorFace, NotRead: "behind the chimney"})
	s.record(events.KindFinding, events.Finding{What: "rotten", Supports: []string{"B1-3"}})
	s.record(events.KindFinding, events.Finding{What: "split", Where: "the bearer", Supports: []string{"B1-3", "B1-4"}})
	closed := s.record(events.KindFinding, events.Finding{What: "leaning", Supports: []string{"B1-1"}})
	s.record(events.KindFindingClosed, events.FindingClosed{Finding: closed, How: "it explains nothing here"})
	s.record(events.KindTie, events.Tie{Tie: "waste", What: "waste pipe", Trade: "plumber", Supports: []string{"B1-4"}})
	s.record(events.KindFloorCut, events.FloorCut{Cut: "one", Where: "by the wall", Outline: []events.Position{{6, 0}, {6.6, 0}, {6.6, 0.9}, {6, 0.9}}})
	s.record(events.KindUnderFloor, events.UnderFloor{ClearanceMM: 380})
	return s
}

// Before anything is agreed a choice is priced; the firm's step says how many
// rounds it takes at least.
func TestSchedulePricesAChoice(t *testing.T) {
	s := pricedHouse(t)
	state := jobs.Refold(s.job, s.log)
	choice := state.Choices(0)[0]
	p := state.Pricing(jobs.PriceAsk{Choice: &choice, Words: jobs.NewZealand.Words(), StepMM: 6, Now: s.clock, Soil: "clay", Pour: jobs.Pour{BagM3: 0.009}}, s.entries())
	if p.Aim != "Up to the highest, not agreed" || *p.Rounds != 4 {
		t.Errorf("aim %q in %g rounds, want 20 mm at 6 mm a move in 4", p.Aim, *p.Rounds)
	}
	if diff := cmp.Diff([]string{"B1-5: behind the chimney"}, p.CannotGet); diff != "" {
		t.Errorf("cannot get to (-want +got):\n%s", diff)
	}
	parts := p.Schedule().Parts
	kitchen, bedroom, whole := figures(parts[0]), figures(parts[1]), figures(parts[len(parts)-1])
	for _, want := range []struct {
		of   map[string][2]float64
		item string
		n    float64
		pm   float64
	}{
		{kitchen, "piles to pack", 1, 0}, {kitchen, "piles to replace", 1, 0}, {bedroom, "piles to pack", 1, 0},
		// 2 m at each of the two, give or take the half spans beyond them.
		{kitchen, "bearer to replace or sister", 2, 1}, {bedroom, "bearer to replace or sister", 2, 1}, {whole, "bearer to replace or sister", 4, 2},
		{bedroom, "area of floor cuts", 0.54, 0}, {bedroom, "ties, plumber", 1, 0}, {whole, "piles not read", 3, 0},
		{whole, "hatches", 1, 0}, {whole, "room from the ground to the timber", 380, 0}, {whole, "pads that nobody can size yet", 1, 0},
	} {
		if got := want.of[want.item]; got != [2]float64{want.n, want.pm} {
			t.Errorf("%s = %v, want %g ±%g", want.item, got, want.n, want.pm)
		}
	}
	if got := whole["lift in all"]; got[0] != 35 || got[1] < 1 || got[1] > 6 {
		t.Errorf("lift in all = %v, want 10 + 20 + 5 with a ±", got)
	}
}

// The agreed aim is priced from as found: what was lifted since changes no price.
func TestScheduleOfTheAgreedAim(t *testing.T) {
	s := pricedHouse(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, LeftOut: []string{"B1-4"}, LeftOutWhy: []events.Reason{{Support: "B1-4", Why: "the bath"}}, AgreedBy: "the owner"})
	price := func() jobs.Schedule {
		state := jobs.Refold(s.job, s.log)
		return state.Pricing(jobs.PriceAsk{Words: jobs.Australia.Words(), Now: s.clock, Replace: []string{}}, s.entries()).Schedule()
	}
	before := price()
	whole := figures(before.Parts[len(before.Parts)-1])
	if got := whole["lift in all"][0]; got != 30 {
		t.Errorf("lift in all = %g, want 10 + 20", got)
	}
	if _, replaced := whole["stumps to replace"]; replaced {
		t.Error("nothing is replaced where who prices says so")
	}
	for _, l := range before.Parts[len(before.Parts)-1].Lines {
		if l.Item == "stumps left out" {
			if diff := cmp.Diff([]string{"B1-4: the bath"}, l.Which); diff != "" {
				t.Errorf("left out (-want +got):\n%s", diff)
			}
		}
		if l.Item == "rounds expected" && l.Figure != nil {
			t.Errorf("%g rounds without a step", *l.Figure)
		}
	}
	s.clock = s.clock.Add(time.Hour)
	s.record(events.KindJacking, events.Jacking{Moves: []events.Move{{Support: "B1-3", By: &events.Length{Value: 8, Unit: levelling.Millimetre}, Gauge: events.Rule}}})
	if diff := cmp.Diff(before.Parts[0].Lines[1].Figure, price().Parts[0].Lines[1].Figure); diff != "" {
		t.Errorf("a lift changed the price (-want +got):\n%s", diff)
	}
}
