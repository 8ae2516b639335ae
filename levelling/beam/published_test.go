package beam_test

import (
	"math"
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
