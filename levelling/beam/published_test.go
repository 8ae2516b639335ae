package beam_test

import (
	"math"
	"slices"
	"testing"

	"relevel/levelling/beam"
)

const (
	spanM = 1.8
	ei    = 87.5 // kN·m²
)

// equal is a bearer of n equal spans on rigid supports.
func equal(n int, length, ei, udl float64) beam.Bearer {
	b := beam.Bearer{Supports: make([]beam.Support, n+1)}
	for range n {
		b.Spans = append(b.Spans, beam.Span{LengthM: length, EI: ei, UDL: udl})
	}
	return b
}

func solve(t *testing.T, b beam.Bearer) *beam.Solution {
	t.Helper()
	s, err := b.Solve()
	if err != nil {
		t.Fatalf("%+v: %v", b, err)
	}
	return s
}

func wantNear(t *testing.T, what string, want, got []float64, within float64) {
	t.Helper()
	if len(want) != len(got) {
		t.Fatalf("%s: %v, want %v", what, got, want)
	}
	for i := range want {
		if !(math.Abs(want[i]-got[i]) <= within) {
			t.Errorf("%s: %v, want %v", what, got, want)
			return
		}
	}
}

func reactions(s *beam.Solution) (all []float64) {
	for _, r := range s.Rests {
		all = append(all, r.ReactionKN)
	}
	return all
}

func moments(s *beam.Solution) (all []float64) {
	for _, r := range s.Rests {
		all = append(all, r.MomentKNm)
	}
	return all
}

func scaled(by float64, xs ...float64) []float64 {
	for i := range xs {
		xs[i] *= by
	}
	return xs
}

// Civil Engineering Formulas (McGraw-Hill), Table 2.1 (read).
func TestEqualSpans(t *testing.T) {
	tests := map[int]struct{ reactions, moments []float64 }{
		2: {[]float64{3. / 8, 5. / 4, 3. / 8}, []float64{0, -1. / 8, 0}},
		3: {[]float64{2. / 5, 11. / 10, 11. / 10, 2. / 5}, []float64{0, -1. / 10, -1. / 10, 0}},
		4: {[]float64{11. / 28, 32. / 28, 26. / 28, 32. / 28, 11. / 28}, []float64{0, -3. / 28, -2. / 28, -3. / 28, 0}},
	}
	const w, l = 1.3, 2.4
	for n, tt := range tests {
		for _, twoWay := range []bool{false, true} {
			b := equal(n, l, ei, w)
			b.TwoWay = twoWay
			s := solve(t, b)
			wantNear(t, "reactions / wL", tt.reactions, scaled(1/(w*l), reactions(s)...), 1e-12)
			wantNear(t, "moments / wL²", tt.moments, scaled(1/(w*l*l), moments(s)...), 1e-12)
		}
	}
}

// Raising one support, no load (computed; the rows sum to zero).
func TestRaising(t *testing.T) {
	tests := []struct {
		name      string
		spans, at int
		reactions []float64 // × EIδ/L³
		moments   []float64 // × EIδ/L²
	}{
		{"2 spans, middle", 2, 1, []float64{-3, 6, -3}, []float64{0, -3, 0}},
		{"2 spans, end", 2, 0, []float64{1.5, -3, 1.5}, []float64{0, 1.5, 0}},
		{"3 spans, end", 3, 0, []float64{1.6, -3.6, 2.4, -0.4}, nil},
		{"3 spans, second", 3, 1, []float64{-3.6, 9.6, -8.4, 2.4}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			const mm = 7.0
			unit := ei * mm / 1000 / (spanM * spanM * spanM)
			b := equal(tt.spans, spanM, ei, 0)
			b.TwoWay = true
			b.Supports[tt.at].RaiseMM = mm
			s := solve(t, b)
			wantNear(t, "reactions", tt.reactions, scaled(1/unit, reactions(s)...), 1e-12)
			if tt.moments != nil {
				wantNear(t, "moments", tt.moments, scaled(1/unit/spanM, moments(s)...), 1e-12)
			}
			// The same by the influence, here under load and all bearing.
			_, rates, err := solve(t, equal(tt.spans, spanM, ei, 1)).Raise(tt.at)
			if err != nil {
				t.Fatal(err)
			}
			wantNear(t, "influence", tt.reactions, scaled(mm/unit, rates...), 1e-12)
		})
	}
}

// Two unequal spans (computed). A listing on the web drops the sign and swaps a
// and b.
func TestUnequalSpans(t *testing.T) {
	const a, b, w = 1.4, 2.1, 1.7
	bearer := beam.Bearer{
		Spans:    []beam.Span{{LengthM: a, EI: ei, UDL: w}, {LengthM: b, EI: ei, UDL: w}},
		Supports: make([]beam.Support, 3),
	}
	m := w * (a*a*a + b*b*b) / (8 * (a + b))
	ra, rc := w*a/2-m/a, w*b/2-m/b
	s := solve(t, bearer)
	wantNear(t, "moments", []float64{0, -m, 0}, moments(s), 1e-12)
	wantNear(t, "reactions", []float64{ra, w*(a+b) - ra - rc, rc}, reactions(s), 1e-12)
}

// The short end lifts when b/a = (1+√13)/2 = 2.3028 (computed).
func TestShortEndLifts(t *testing.T) {
	for _, tt := range []struct {
		ratio    float64
		floating bool
	}{{2.3027, false}, {2.3028, true}, {(1+math.Sqrt(13))/2 - 1e-6, false}, {(1+math.Sqrt(13))/2 + 1e-6, true}} {
		bearer := beam.Bearer{
			Spans:    []beam.Span{{LengthM: 1, EI: ei, UDL: 1}, {LengthM: tt.ratio, EI: ei, UDL: 1}},
			Supports: make([]beam.Support, 3),
		}
		if got := solve(t, bearer).Rests[0].Floating; got != tt.floating {
			t.Errorf("at %v the short end floats: %v", tt.ratio, got)
		}
	}
}

// Kassimali, Structural Analysis, 3rd ed., Example 13.14 (second-hand): three
// spans of 20 ft, 2 kip/ft, E 29 000 ksi, I 7 800 in⁴, settlements 5/8, 1½ and
// ¾ in. Printed are −1.098, 122.373, −61.451 and 60.176 kip, after rounding on
// the way; A is a small difference of large numbers.
func TestSettlement(t *testing.T) {
	b := equal(3, 20, 29000.*7800/144, 2) // kip and ft in place of kN and m
	for i, inches := range []float64{0, 5. / 8, 3. / 2, 3. / 4} {
		b.Supports[i].RaiseMM = -inches / 12 * 1000
	}
	b.TwoWay = true
	got := reactions(solve(t, b))
	wantNear(t, "exact", []float64{-1.1810, 122.5417, -61.5404, 60.1797}, got, 5e-5)
	printed := []float64{-1.098, 122.373, -61.451, 60.176}
	for i := range printed {
		if math.Abs(got[i]-printed[i]) < 0.003 {
			t.Errorf("reaction %d is %v, as printed: rounded on the way", i, got[i])
		}
	}
	wantNear(t, "B, C and D printed", printed[1:], got[1:], 0.002*123)
}

// Sennett, Matrix Analysis of Structures, 3.8 (second-hand): two spans of 120 in,
// EI 2.9e6 lb·in², the left end clamped, the middle drops ¼ in. A clamp is the
// middle of a bearer that mirrors the one asked for.
func TestClampedEnd(t *testing.T) {
	b := equal(4, 120, 2.9e6, 0) // lb and in
	b.TwoWay = true
	b.Supports[1].RaiseMM, b.Supports[3].RaiseMM = -250, -250
	m := moments(solve(t, b))
	wantNear(t, "moments", []float64{-258.929, 215.774}, m[2:4], 5e-4)
	wantNear(t, "shears", []float64{3.9558, -1.7981}, []float64{(m[3] - m[2]) / 120, (m[4] - m[3]) / 120}, 1e-4)
}

// NPTEL Structural Analysis, lesson 15 (statement from memory): three spans of
// 10 m, 5 kN/m, EI 270 000 kN·m², B down 5 mm, C down 10 mm. It prints 55.40 and
// 28.40 kN·m, a factor 3 lost.
func TestWrongPublishedMoments(t *testing.T) {
	b := equal(3, 10, 270000, 5)
	b.TwoWay = true
	b.Supports[1].RaiseMM, b.Supports[2].RaiseMM = -5, -10
	got := moments(solve(t, b))[1:3]
	wantNear(t, "moments", []float64{-66.20, 14.80}, got, 5e-3)
	for i, wrong := range []float64{55.40, 28.40} {
		if math.Abs(math.Abs(got[i])-wrong) < 1 {
			t.Errorf("moment %d is %v, the wrong one published", i, got[i])
		}
	}
}

// An elastic middle support: R = (5/4)wL / (1 + 6EI/(kL³)) (computed; Karnovsky
// and Lebed, 7.10, give the propped form).
func TestElasticMiddle(t *testing.T) {
	const w = 1.0
	for _, tt := range []struct{ soft, moment float64 }{{0.25, 0}, {1.5, 0.25}, {0.01, math.NaN()}, {40, math.NaN()}} {
		b := equal(2, spanM, ei, w)
		b.Supports[1].Stiffness = 6 * ei / (tt.soft * spanM * spanM * spanM) / 1000
		s := solve(t, b)
		want := 1.25 * w * spanM / (1 + tt.soft)
		wantNear(t, "reaction", []float64{want}, reactions(s)[1:2], 1e-12)
		if r := s.Rests[1]; math.Abs(r.HeightMM+want/b.Supports[1].Stiffness) > 1e-9 || r.GapMM != 0 {
			t.Errorf("at %v the middle rests at %+v", tt.soft, r)
		}
		if !math.IsNaN(tt.moment) {
			wantNear(t, "moment / wL²", []float64{tt.moment}, scaled(1/(w*spanM*spanM), moments(s)[1]), 1e-12)
		}
	}
}

// What floats, and from where (computed), in wL⁴/EI.
func TestOneWay(t *testing.T) {
	const w = 1.0
	unit := 1000 * w * spanM * spanM * spanM * spanM / ei // mm
	tests := []struct {
		name      string
		spans, at int
		raise     float64
		off       []int
	}{
		{"2 spans, middle up", 2, 1, 1. / 8, []int{0, 2}},
		{"2 spans, middle down", 2, 1, -5. / 24, []int{1}},
		{"3 spans, end up", 3, 0, 11. / 36, []int{1}},
		{"3 spans, second up", 3, 1, 1. / 9, []int{0}},
		{"3 spans, end down", 3, 0, -1. / 4, []int{0}},
		{"3 spans, second down", 3, 1, -11. / 96, []int{1}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := equal(tt.spans, spanM, ei, w)
			steps, err := b.Path(tt.at, 1.5*tt.raise*unit)
			if err != nil {
				t.Fatal(err)
			}
			first := steps[0]
			if math.Abs(first.RaiseMM/unit-tt.raise) > 1e-9 || !slices.Equal(first.Off, tt.off) || first.On != nil {
				t.Errorf("first step %+v, want %v off at %v", first, tt.off, tt.raise*unit)
			}
			for by, floats := range map[float64]bool{1 - 1e-6: false, 1 + 1e-6: true} {
				b.Supports[tt.at].RaiseMM = by * tt.raise * unit
				for _, i := range tt.off {
					if got := solve(t, b).Rests[i].Floating; got != floats {
						t.Errorf("at %v of it %d floats: %v", by, i, got)
					}
				}
			}
		})
	}
}

// At 1 kN/m, 1.8 m and 87.5 kN·m² two ends float from a lift of 15 mm and the
// middle is free from a drop of 25 (computed): ordinary lifts float a neighbour.
func TestOrdinaryLiftFloats(t *testing.T) {
	for raise, want := range map[float64][]bool{
		14.9: {false, false, false}, 15.1: {true, false, true}, -24.9: {false, false, false}, -25.1: {false, true, false},
	} {
		b := equal(2, spanM, ei, 1)
		b.Supports[1].RaiseMM = raise
		for i, r := range solve(t, b).Rests {
			if r.Floating != want[i] || (r.GapMM > 0) != want[i] || (r.ReactionKN == 0) != want[i] {
				t.Errorf("raised by %v, support %d: %+v", raise, i, r)
			}
		}
	}
}
