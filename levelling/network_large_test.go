package levelling_test

import (
	"math"
	"testing"
)

// A network too large for dense equations fulfils what defines least squares:
// at every unknown the weighted residuals balance. Its redundancies sum to the
// degrees of freedom, which holds for no wrong set of variances.
func TestNetworkLarge(t *testing.T) {
	n := randomNetwork(800, 800)
	a := adjust(t, n)
	balance, redundancy := map[string]float64{}, 0.0
	add := func(i int, from, to string, sd float64) {
		o := a.Observations[i]
		balance[from] -= o.ResidualMM / (sd * sd)
		balance[to] += o.ResidualMM / (sd * sd)
		redundancy += o.Redundancy
	}
	for i, d := range n.Differences {
		add(i, d.From, d.To, d.SD)
	}
	for i, r := range n.Readings {
		add(len(n.Differences)+i, r.Point, "/"+r.Setup, r.SD)
	}
	for _, f := range n.Fixed {
		delete(balance, f.Point)
	}
	if unknowns := len(a.Points) - len(n.Fixed) + len(a.Planes); len(balance) != unknowns || unknowns < 900 {
		t.Fatalf("%d unknowns balanced of %d", len(balance), unknowns)
	}
	for name, pull := range balance {
		if math.Abs(pull) > 1e-9 {
			t.Errorf("%s is pulled by %g", name, pull)
		}
	}
	if math.Abs(redundancy-float64(a.DegreesOfFreedom)) > 1e-8 {
		t.Errorf("redundancies sum to %.12g, want %d", redundancy, a.DegreesOfFreedom)
	}
}
