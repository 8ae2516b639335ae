package levelling_test

import (
	"math"
	"testing"

	"relevel/levelling"
)

// The first three are of every statistical table; the rest, and the further
// digits, are computed: √2·erfc⁻¹(α) by bisection of Go's math.Erfc.
func TestCriticalTwoSided(t *testing.T) {
	for alpha, want := range map[float64]float64{0.05: 1.9600, 0.01: 2.5758, 0.001: 3.2905} {
		if got := levelling.CriticalTwoSided(alpha); math.Abs(got-want) > 0.00005 {
			t.Errorf("critical value at %g is %.6f, want %.4f", alpha, got, want)
		}
	}
	for _, alpha := range []float64{0.99, 0.5, 0.3173, 0.1, 0.0028, 0.0026, 1e-4, 1e-9, 1e-50, 1e-300} {
		got := levelling.CriticalTwoSided(alpha)
		if back := math.Erfc(got / math.Sqrt2); math.Abs(back-alpha) > alpha*1e-10*math.Max(1, got*got) {
			t.Errorf("critical value at %g is %.12f, which %g exceeds", alpha, got, back)
		}
	}
}

// The smallest blunder that a test at 0.1 % finds four times in five is 4.132 σ
// over the root of the redundancy (computed): the critical value and the point
// that 80 % of the normal distribution lie below.
func TestDetectableBlunder(t *testing.T) {
	const eightyPercent = 0.4 // two-sided, so 0.2 beyond
	if got := levelling.CriticalTwoSided(0.001) + levelling.CriticalTwoSided(eightyPercent); math.Abs(got-4.132) > 5e-4 {
		t.Errorf("got %v, want 4.132", got)
	}
}
