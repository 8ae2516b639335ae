package beam_test

import (
	"errors"
	"math"
	"testing"

	"relevel/levelling"
	"relevel/levelling/beam"
)

// raised is a bearer of equal spans on rigid supports raised so.
func raised(udl float64, mm ...float64) beam.Bearer {
	b := equal(len(mm)-1, spanM, ei, udl)
	for i := range mm {
		b.Supports[i].RaiseMM = mm[i]
	}
	return b
}

// Where nothing decides how a bearer is turned it shares the daylight.
func TestNothingDecides(t *testing.T) {
	joined := raised(1, 0, 10, 0)
	joined.Joins = []int{1}
	joined.Spans[1].UDL = 0
	tipped := raised(0, 0, 10, 0)
	tipped.Loads = []beam.PointLoad{{Span: 0, AtM: 0, KN: 3}}
	tests := []struct {
		name      string
		bearer    beam.Bearer
		heights   []float64
		reactions []float64
	}{
		{"weightless and level", raised(0, 0, 0, 0, 0), []float64{0, 0, 0, 0}, []float64{0, 0, 0, 0}},
		{"weightless on one", raised(0, 0, 10, 0), []float64{10, 10, 10}, []float64{0, 0, 0}},
		{"weightless on two", raised(0, 0, 10, 10, 0), []float64{10, 10, 10, 10}, []float64{0, 0, 0, 0}},
		{"weightless on ends", raised(0, 4, 0, 8), []float64{4, 6, 8}, []float64{0, 0, 0}},
		{"balanced on one", raised(1, 0, 40, 0), []float64{40 - 14.9965714, 40, 40 - 14.9965714}, []float64{0, 3.6, 0}},
		{"a part without load lies down", joined, []float64{0, 10, 0}, []float64{0.9, 0.9, 0}},
		{"tipped by a load over its end", tipped, []float64{0, 10, 20}, []float64{3, 0, 0}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := solve(t, tt.bearer)
			wantNear(t, "heights", tt.heights, heights(s), 1e-6)
			wantNear(t, "reactions", tt.reactions, reactions(s), 1e-9)
		})
	}
}

// Raises of any size, and a load that is nothing beside what they would bend.
func TestAllFloatButOne(t *testing.T) {
	for _, mm := range []float64{2e3, 1e6, 1e12, 1e100, 1e290} {
		s := solve(t, raised(1, 0, 0, 0, mm, 0, 0, 0))
		wantNear(t, "reactions", []float64{0, 0, 0, 6 * spanM, 0, 0, 0}, reactions(s), 1e-9)
		left, right := s.Rests[0], s.Rests[6]
		if !left.Floating || !right.Floating || math.Abs(left.GapMM-right.GapMM) > 1e-12*mm {
			t.Errorf("raised by %v the ends rest at %+v and %+v", mm, left, right)
		}
	}
}

// Two ends up, one joined in between: every part needs its supports.
func TestJoinsNeedTheirSupports(t *testing.T) {
	b := raised(1, 0, 300, 0, 300, 0)
	b.Joins = []int{1, 2, 3}
	wantNear(t, "reactions", []float64{0.9, 1.8, 1.8, 1.8, 0.9}, reactions(solve(t, b)), 1e-9)
}

func TestStiffnessesFarApart(t *testing.T) {
	b := raised(1, 0, 10, 0, 0)
	b.Supports[0].Stiffness, b.Supports[1].Stiffness, b.Supports[2].Stiffness = 1e-6, 1e12, 1e-300
	// A single span from the second support to the last with an end beyond it:
	// 5.4 m of load at 0.9 m from the second.
	wantNear(t, "reactions", []float64{0, 4.05, 0, 1.35}, reactions(solve(t, b)), 1e-4)
	b = raised(1, 0, 0, 0)
	b.Spans[0].EI, b.Spans[1].EI = 1e-9, 1e12
	// The stiff span clamps the end of the soft one.
	wantNear(t, "reactions", []float64{0.675, 2.25, 0.675}, reactions(solve(t, b)), 1e-9)
}

func TestBadInput(t *testing.T) {
	level := func(change func(*beam.Bearer)) beam.Bearer {
		b := equal(2, spanM, ei, 1)
		change(&b)
		return b
	}
	load := func(l beam.PointLoad) beam.Bearer {
		return level(func(b *beam.Bearer) { b.Loads = []beam.PointLoad{l} })
	}
	tests := []struct {
		field  string
		bearer beam.Bearer
	}{
		{"spans_m", beam.Bearer{Supports: make([]beam.Support, 1)}},
		{"spans_m[1]", level(func(b *beam.Bearer) { b.Spans[1].LengthM = 0 })},
		{"ei_knm2[0]", level(func(b *beam.Bearer) { b.Spans[0].EI = -1 })},
		{"udl_kn_m[0]", level(func(b *beam.Bearer) { b.Spans[0].UDL = math.NaN() })},
		{"supports", level(func(b *beam.Bearer) { b.Supports = b.Supports[1:] })},
		{"supports[2].raise_mm", level(func(b *beam.Bearer) { b.Supports[2].RaiseMM = math.Inf(1) })},
		{"supports[2].stiffness_kn_mm", level(func(b *beam.Bearer) { b.Supports[2].Stiffness = -1 })},
		{"point_loads[0].span", load(beam.PointLoad{Span: 2})},
		{"point_loads[0].span", load(beam.PointLoad{Span: -1})},
		{"point_loads[0].at_m", load(beam.PointLoad{AtM: 1.81})},
		{"point_loads[0].at_m", load(beam.PointLoad{AtM: -0.01})},
		{"point_loads[0].load_kn", load(beam.PointLoad{KN: math.NaN()})},
		{"point_loads", load(beam.PointLoad{AtM: 0.9, KN: -30})},
		{"udl_kn_m", level(func(b *beam.Bearer) { b.Spans[0].UDL = -3 })},
		{"joins[0]", level(func(b *beam.Bearer) { b.Joins = []int{0} })},
		{"joins[0]", level(func(b *beam.Bearer) { b.Joins = []int{2} })},
		{"joins[1]", level(func(b *beam.Bearer) { b.Joins = []int{1, 1} })},
		{"input", level(func(b *beam.Bearer) { b.Spans[0].LengthM = 1e200 })},
		{"input", level(func(b *beam.Bearer) { b.Spans[0].UDL = 1e308 })},
	}
	for _, tt := range tests {
		_, err := tt.bearer.Solve()
		var bad *levelling.InputError
		if !errors.As(err, &bad) || bad.Field != tt.field {
			t.Errorf("got %v, want an InputError on %s", err, tt.field)
		}
	}
}

// What lifts a part more than it is pressed leaves it to the other supports, as
// long as those hold it.
func TestUplift(t *testing.T) {
	b := equal(2, spanM, ei, 1)
	b.Loads = []beam.PointLoad{{Span: 0, AtM: 0.2, KN: -0.8}}
	s := solve(t, b)
	if !s.Rests[0].Floating {
		t.Errorf("the end lifted by 0.8 kN rests: %+v", s.Rests)
	}
	b.TwoWay = true
	if s = solve(t, b); s.Rests[0].ReactionKN >= 0 || s.Rests[0].GapMM != 0 {
		t.Errorf("held down it is not: %+v", s.Rests)
	}
}

func TestPathBadInput(t *testing.T) {
	b := equal(2, spanM, ei, 1)
	for field, try := range map[string]func() error{
		"supports": func() error { _, err := b.Path(3, 1); return err },
		"raise_mm": func() error { _, err := b.Path(1, math.NaN()); return err },
		"factor":   func() error { _, err := b.Watch(1, 1, 0.5); return err },
	} {
		var bad *levelling.InputError
		if err := try(); !errors.As(err, &bad) || bad.Field != field {
			t.Errorf("got %v, want an InputError on %s", err, field)
		}
	}
}

// By a quarter to four times the load on its stiffness: 15 mm as given.
func TestWatchRange(t *testing.T) {
	unit := 1000 * spanM * spanM * spanM * spanM / ei / 8
	for _, tt := range []struct {
		to, factor, from float64
		latest           float64 // 0: it may stay on
	}{{40, 1, unit, unit}, {40, 2, unit / 4, 0}, {80, 2, unit / 4, 4 * unit}, {40, math.Sqrt2, unit / 2, 2 * unit}} {
		got, err := equal(2, spanM, ei, 1).Watch(1, tt.to, tt.factor)
		if err != nil || len(got) != 2 || got[0].Support != 0 || got[1].Support != 2 {
			t.Fatalf("%+v, %v: want both ends", got, err)
		}
		for _, w := range got {
			if math.Abs(w.From-tt.from) > 1e-6 || (w.To == nil) != (tt.latest == 0) || w.To != nil && math.Abs(*w.To-tt.latest) > 1e-6 {
				t.Errorf("raised by %v, off by %v: %+v, want from %v to %v", tt.to, tt.factor, w, tt.from, tt.latest)
			}
		}
	}
	if got, err := equal(2, spanM, ei, 1).Watch(1, 3, 2); err != nil || len(got) != 0 {
		t.Errorf("a lift of 3: %+v, %v", got, err)
	}
}
