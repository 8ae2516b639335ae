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
