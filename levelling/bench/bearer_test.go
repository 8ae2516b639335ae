//go:build bench

package bench

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"relevel/levelling/beam"
)

// TestCompareBearer prints what a bearer with 20 supports costs on supports that
// only carry, beside one solution of the same bearer held both ways by
// displacements and a full matrix, which has not to find out what floats. It
// fails only when the two do not agree where nothing floats.
func TestCompareBearer(t *testing.T) {
	const supports = 20
	for _, amount := range []float64{0, 5, 20, 100, 1000} {
		b := unevenBearer(supports, amount)
		var ratios []float64
		var ours, theirs []time.Duration
		var s *beam.Solution
		var held []float64
		for range rounds {
			const times = 1000
			a := timed(t, func() (err error) {
				for range times {
					if s, err = b.Solve(); err != nil {
						return err
					}
				}
				return nil
			}) / times
			d := timed(t, func() error {
				for range times {
					held = fullMatrix(b)
				}
				return nil
			}) / times
			ours, theirs = append(ours, a), append(theirs, d)
			ratios = append(ratios, float64(d)/float64(a))
		}
		floating := 0
		for _, r := range s.Rests {
			if r.Floating {
				floating++
			}
		}
		if floating == 0 {
			compareReactions(t, s, held)
		}
		fmt.Printf("bearer-%-4v         %5.2f   %d supports raised by up to %v mm, %d float: %v; held both ways, full matrix, %v\n",
			amount, median(ratios), supports, amount, floating, quantile(ours, 0.5), quantile(theirs, 0.5))
	}
}

// TestCompareLift prints what it costs to follow one of 20 supports through a
// lift, and to say from which lifts its neighbours may come off, in solutions of
// the bearer at rest.
func TestCompareLift(t *testing.T) {
	b := unevenBearer(20, 5)
	const times = 100
	var one, path, watch []time.Duration
	var steps []beam.Step
	for range rounds {
		one = append(one, timed(t, func() error { return repeat(times, func() error { _, err := b.Solve(); return err }) })/times)
		path = append(path, timed(t, func() error {
			return repeat(times, func() (err error) { steps, err = b.Path(10, 30); return err })
		})/times)
		watch = append(watch, timed(t, func() error { return repeat(times, func() error { _, err := b.Watch(10, 30, 2); return err }) })/times)
	}
	fmt.Printf("bearer-lift         %5.2f   a lift by 30 mm in %d steps: %v; one solution %v\n",
		ratio(one, path), len(steps), quantile(path, 0.5), quantile(one, 0.5))
	fmt.Printf("bearer-watch        %5.2f   from which lifts neighbours may come off, five ways: %v\n", ratio(one, watch), quantile(watch, 0.5))
}

func repeat(times int, do func() error) error {
	for range times {
		if err := do(); err != nil {
			return err
		}
	}
	return nil
}

// unevenBearer has spans of 1.5 to 2.1 m on rigid supports raised at random.
func unevenBearer(supports int, amount float64) beam.Bearer {
	r := rand.New(rand.NewPCG(20, 4))
	b := beam.Bearer{Supports: make([]beam.Support, supports)}
	for i := range b.Supports {
		b.Supports[i].RaiseMM = amount * r.Float64()
		if i > 0 {
			b.Spans = append(b.Spans, beam.Span{LengthM: 1.5 + 0.6*r.Float64(), EI: 87.5, UDL: 3})
		}
	}
	return b
}

// fullMatrix returns the reactions of a bearer held by rigid supports: its turn
// and height at each are the unknowns.
func fullMatrix(b beam.Bearer) []float64 {
	n := 2 * len(b.Supports)
	k := make([][]float64, n)
	for i := range k {
		k[i] = make([]float64, n+1)
	}
	for i, s := range b.Spans {
		l, ei := s.LengthM, s.EI
		element := [4][4]float64{
			{12 * ei / (l * l * l), 6 * ei / (l * l), -12 * ei / (l * l * l), 6 * ei / (l * l)},
			{6 * ei / (l * l), 4 * ei / l, -6 * ei / (l * l), 2 * ei / l},
			{-12 * ei / (l * l * l), -6 * ei / (l * l), 12 * ei / (l * l * l), -6 * ei / (l * l)},
			{6 * ei / (l * l), 2 * ei / l, -6 * ei / (l * l), 4 * ei / l},
		}
		load := [4]float64{-s.UDL * l / 2, -s.UDL * l * l / 12, -s.UDL * l / 2, s.UDL * l * l / 12}
		for row := range 4 {
			for col := range 4 {
				k[2*i+row][2*i+col] += element[row][col]
			}
			k[2*i+row][n] += load[row]
		}
	}
	heights := make([][]float64, len(b.Supports))
	for i, s := range b.Supports {
		heights[i] = append([]float64(nil), k[2*i]...)
		clear(k[2*i])
		k[2*i][2*i], k[2*i][n] = 1, s.RaiseMM/1000
	}
	x := eliminated(k)
	reactions := make([]float64, len(b.Supports))
	for i, row := range heights {
		reactions[i] = -row[n]
		for j := range x {
			reactions[i] += row[j] * x[j]
		}
	}
	return reactions
}

// eliminated solves a system with its right side in the last column.
func eliminated(k [][]float64) []float64 {
	n := len(k)
	for p := range n {
		best := p
		for row := p + 1; row < n; row++ {
			if math.Abs(k[row][p]) > math.Abs(k[best][p]) {
				best = row
			}
		}
		k[p], k[best] = k[best], k[p]
		for row := p + 1; row < n; row++ {
			by := k[row][p] / k[p][p]
			for col := p; col <= n; col++ {
				k[row][col] -= by * k[p][col]
			}
		}
	}
	x := make([]float64, n)
	for row := n - 1; row >= 0; row-- {
		x[row] = k[row][n]
		for col := row + 1; col < n; col++ {
			x[row] -= k[row][col] * x[col]
		}
		x[row] /= k[row][row]
	}
	return x
}

func compareReactions(t *testing.T, s *beam.Solution, held []float64) {
	t.Helper()
	for i, r := range s.Rests {
		if math.Abs(r.ReactionKN-held[i]) > 1e-8 {
			t.Fatalf("support %d carries %v, a full matrix says %v", i, r.ReactionKN, held[i])
		}
	}
}
