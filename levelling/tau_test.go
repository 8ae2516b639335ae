package levelling_test

import (
	"math"
	"testing"

	"relevel/levelling"
)

// Pope's τ at 0.1 % (computed from Student's t by τ = t√f / √(f−1+t²)).
func TestCriticalTau(t *testing.T) {
	for f, want := range map[int]float64{3: 1.7303, 5: 2.1781, 10: 2.6786, 15: 2.8735} {
		if got := levelling.CriticalTau(0.001, f); math.Abs(got-want) > 0.00005 {
			t.Errorf("τ at %d degrees of freedom is %.5f, want %.4f", f, got, want)
		}
	}
}

// Two degrees of freedom have a closed form: τ = √2·sin(π(1−α)/2), since Student's
// t of one degree is tan(π(1−α)/2). Three have another: τ = √3·(1−α).
func TestCriticalTauClosed(t *testing.T) {
	for _, alpha := range []float64{0.9, 0.5, 0.1, 0.05, 0.01, 0.001, 1e-6, 1e-9} {
		for f, want := range map[int]float64{2: math.Sqrt2 * math.Sin(math.Pi*(1-alpha)/2), 3: math.Sqrt(3) * (1 - alpha)} {
			if got := levelling.CriticalTau(alpha, f); math.Abs(got-want) > 1e-12 {
				t.Errorf("τ at %d degrees of freedom and %g is %.15f, want %.15f", f, alpha, got, want)
			}
		}
	}
}

// One degree of freedom shows nothing: every residual is exactly as large as the
// critical value. With many, τ is the normal value.
func TestCriticalTauEnds(t *testing.T) {
	for _, f := range []int{-1, 0, 1} {
		if got := levelling.CriticalTau(0.001, f); got != 1 {
			t.Errorf("τ at %d degrees of freedom is %v, want 1", f, got)
		}
	}
	before := 0.0
	for _, f := range []int{1, 2, 3, 5, 10, 100, 1000, 100_000} {
		got := levelling.CriticalTau(0.001, f)
		if got <= before || got > math.Sqrt(float64(f)) {
			t.Errorf("τ at %d degrees of freedom is %v, after %v", f, got, before)
		}
		before = got
	}
	if want := levelling.CriticalTwoSided(0.001); math.Abs(before-want) > 1e-3 {
		t.Errorf("with very many it is %v, want the normal %v", before, want)
	}
}
