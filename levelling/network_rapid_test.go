package levelling_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"relevel/levelling"
)

// randomNetwork makes a connected network from a seed: a few fixed points,
// water levels and set-ups, some of them read but once.
func randomNetwork(seed uint64, points int) levelling.Network {
	r := rand.New(rand.NewPCG(seed, 12))
	sd := func() float64 { return 0.25 * float64(1+r.IntN(12)) }
	name := func(i int) string { return fmt.Sprintf("P%d", i) }
	n := levelling.Network{Alpha: 0.001}
	for i := range 1 + r.IntN(2) {
		n.Fixed = append(n.Fixed, levelling.FixedPoint{Point: name(i), HeightMM: 437596 + 20*r.NormFloat64()})
	}
	difference := func(a, b int) {
		if a != b {
			n.Differences = append(n.Differences, levelling.Difference{From: name(a), To: name(b), RiseMM: 20 * r.NormFloat64(), SD: sd()})
		}
	}
	read := func(setup, point int) {
		n.Readings = append(n.Readings, levelling.StaffReading{Setup: name(setup), Point: name(point), StaffMM: 1400 + 20*r.NormFloat64(), SD: sd()})
	}
	for i := 1; i < points; i++ { // each hangs on an earlier one
		if r.IntN(2) == 0 {
			difference(r.IntN(i), i)
			continue
		}
		setup := r.IntN(1 + points/4)
		read(setup, i)
		read(setup, r.IntN(i))
	}
	for range points / 2 {
		difference(r.IntN(points), r.IntN(points))
		read(r.IntN(1+points/4), r.IntN(points))
	}
	return n
}

// drawNetwork makes a random network and adjusts it.
func drawNetwork(t *rapid.T) (levelling.Network, levelling.Adjustment) {
	n := randomNetwork(rapid.Uint64().Draw(t, "seed"), rapid.IntRange(2, 16).Draw(t, "points"))
	a, err := n.Adjust()
	if err != nil {
		t.Fatal(err)
	}
	heights, err := n.Heights()
	if err != nil || len(heights) != len(a.Points) {
		t.Fatalf("%d heights of %d points, %v", len(heights), len(a.Points), err)
	}
	for _, p := range a.Points {
		if heights[p.Name] != p.MM {
			t.Fatalf("height of %s alone is %v, adjusted %v", p.Name, heights[p.Name], p.MM)
		}
	}
	return n, a
}

// dense adjusts a network by its normal equations, all of them, and Gauss–Jordan.
type dense struct {
	rows    []batchRow
	heights map[string]float64 // fixed
	column  map[string]int     // points by name, set-ups behind a slash
}

func newDense(n levelling.Network) *dense {
	d := &dense{heights: map[string]float64{}, column: map[string]int{}}
	for _, f := range n.Fixed {
		d.heights[f.Point] = f.HeightMM - n.Fixed[0].HeightMM
	}
	for _, o := range n.Differences {
		d.observe(o.From, o.To, o.RiseMM, o.SD)
	}
	for _, o := range n.Readings {
		d.observe(o.Point, "/"+o.Setup, o.StaffMM, o.SD)
	}
	return d
}

func (d *dense) observe(from, to string, rise, sd float64) {
	row := batchRow{of: map[int]float64{}, value: rise, sd: sd}
	for i, end := range []string{from, to} {
		sign := float64(2*i - 1)
		if h, fixed := d.heights[end]; fixed {
			row.value -= sign * h
			continue
		}
		if _, ok := d.column[end]; !ok {
			d.column[end] = len(d.column)
		}
		row.of[d.column[end]] = sign
	}
	d.rows = append(d.rows, row)
}

func TestNetworkDense(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, a := drawNetwork(t)
		d := newDense(n)
		x, inverse := (&batch{len(d.column), d.rows}).solve(t)
		same := func(what string, got, want float64) {
			if math.Abs(got-want) > 1e-8*math.Max(1, math.Abs(want)) {
				t.Errorf("%s is %.12g, want %.12g", what, got, want)
			}
		}
		for i, list := range [][]levelling.AdjustedHeight{a.Points, a.Planes} {
			for _, h := range list {
				if k, ok := d.column["/"[:i]+h.Name]; ok {
					same("height of "+h.Name, h.MM-n.Fixed[0].HeightMM, x[k])
					same("sd of "+h.Name, h.SD, math.Sqrt(inverse[k][k]))
				}
			}
		}
		for i, row := range d.rows {
			residual, spread := -row.value, 0.0
			for j, cj := range row.of {
				residual += cj * x[j]
				for k, ck := range row.of {
					spread += cj * ck * inverse[j][k]
				}
			}
			o := a.Observations[i]
			same("residual", o.ResidualMM, residual)
			same("redundancy", o.Redundancy, 1-spread/(row.sd*row.sd))
			if o.W != nil {
				same("w", *o.W*row.sd*math.Sqrt(o.Redundancy), residual)
			}
		}
	})
}

func TestNetworkRedundancies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, a := drawNetwork(t)
		sum := 0.0
		for _, r := range redundancies(a) {
			sum += r
		}
		if math.Abs(sum-float64(a.DegreesOfFreedom)) > 1e-8 {
			t.Errorf("redundancies sum to %.12g, want %d", sum, a.DegreesOfFreedom)
		}
		if unknowns := len(a.Points) - len(n.Fixed) + len(a.Planes); a.DegreesOfFreedom != len(a.Observations)-unknowns {
			t.Errorf("%d degrees of freedom of %d observations and %d unknowns", a.DegreesOfFreedom, len(a.Observations), unknowns)
		}
	})
}

// Other weights in the same proportions change S0, and the standard deviations
// given, and nothing else.
func TestNetworkScaledWeights(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, a := drawNetwork(t)
		k := rapid.SampledFrom([]float64{1e-9, 0.3, 7, 1e12}).Draw(t, "k")
		for i := range n.Differences {
			n.Differences[i].SD *= k
		}
		for i := range n.Readings {
			n.Readings[i].SD *= k
		}
		b, err := n.Adjust()
		if err != nil {
			t.Fatal(err)
		}
		if a.S0 != nil {
			sameNear(t, "S0", []float64{*a.S0}, []float64{*b.S0 * k})
			for i := range b.Points {
				sameNear(t, "fitted sd", []float64{*a.Points[i].FittedSD}, []float64{*b.Points[i].FittedSD})
			}
		}
		sameHeights(t, a, b)
		sameNear(t, "residuals", residuals(a), residuals(b))
		sameNear(t, "redundancies", redundancies(a), redundancies(b))
	})
}

func TestNetworkAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, a := drawNetwork(t)
		p := rapid.Permutation(index(len(n.Differences))).Draw(t, "differences")
		q := rapid.Permutation(index(len(n.Readings))).Draw(t, "readings")
		shuffled := levelling.Network{Fixed: n.Fixed, Alpha: n.Alpha}
		order := make([]int, 0, len(a.Observations))
		for _, i := range p {
			shuffled.Differences = append(shuffled.Differences, n.Differences[i])
			order = append(order, i)
		}
		for _, i := range q {
			shuffled.Readings = append(shuffled.Readings, n.Readings[i])
			order = append(order, len(p)+i)
		}
		b, err := shuffled.Adjust()
		if err != nil {
			t.Fatal(err)
		}
		sameHeights(t, a, b)
		for i, j := range order {
			x, y := a.Observations[j], b.Observations[i]
			sameNear(t, "observation", []float64{x.ResidualMM, x.Redundancy}, []float64{y.ResidualMM, y.Redundancy})
			if x.Suspect != y.Suspect || (x.W == nil) != (y.W == nil) {
				t.Errorf("observation %d: %+v, in another order %+v", j, x, y)
			}
		}
	})
}

// A repeat never raises a standard deviation by those given.
func TestNetworkRepeat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, a := drawNetwork(t)
		if i := rapid.IntRange(0, len(a.Observations)-1).Draw(t, "repeat"); i < len(n.Differences) {
			n.Differences = append(n.Differences, n.Differences[i])
		} else {
			n.Readings = append(n.Readings, n.Readings[i-len(n.Differences)])
		}
		b, err := n.Adjust()
		if err != nil {
			t.Fatal(err)
		}
		for i, h := range append(a.Points, a.Planes...) {
			if now := append(b.Points, b.Planes...)[i]; now.SD > h.SD*(1+1e-12) {
				t.Errorf("sd of %s rose from %.15g to %.15g", h.Name, h.SD, now.SD)
			}
		}
	})
}

func index(n int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	return all
}

func sameNear(t *rapid.T, what string, a, b []float64) {
	t.Helper()
	for i := range a {
		if math.Abs(a[i]-b[i]) > 1e-9*math.Max(1, math.Abs(a[i])) {
			t.Errorf("%s %d: %.12g and %.12g", what, i, a[i], b[i])
		}
	}
}

// sameHeights compares heights by name.
func sameHeights(t *rapid.T, a, b levelling.Adjustment) {
	t.Helper()
	for i, lists := range [][2][]levelling.AdjustedHeight{{a.Points, b.Points}, {a.Planes, b.Planes}} {
		heights := map[string]float64{}
		for _, h := range lists[1] {
			heights[h.Name] = h.MM
		}
		for _, h := range lists[0] {
			if got, ok := heights[h.Name]; !ok || math.Abs(got-h.MM) > 1e-9 {
				t.Errorf("%s in list %d: %.12f and %.12f", h.Name, i, h.MM, got)
			}
		}
	}
}
