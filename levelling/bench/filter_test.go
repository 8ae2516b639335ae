//go:build bench

package bench

import (
	"fmt"
	"testing"
	"time"

	"relevel/levelling"
)

// TestCompareReading prints what one reading costs a filter of so many
// unknowns, beside the least that an update of every covariance can cost: one
// pass of a loop over as many numbers.
func TestCompareReading(t *testing.T) {
	for _, n := range []int{40, 120, 400} {
		f, planes, points := readFloor(n)
		bare := make([]float64, n*(n+1)/2)
		var ratios []float64
		var ours, limit []time.Duration
		for round := range rounds {
			const times = 400
			a := timed(t, func() error {
				for i := range times {
					f.Observe(points[(i+round)%len(points)], planes[i%2], -1000, 1)
				}
				return nil
			}) / times
			b := timed(t, func() error {
				for i := range times {
					pass(bare, 1e-9*float64(i))
				}
				return nil
			}) / times
			ours, limit = append(ours, a), append(limit, b)
			ratios = append(ratios, float64(b)/float64(a))
		}
		fmt.Printf("reading-%-3d         %5.2f   one reading at %d unknowns %v; a pass over its covariances %v\n",
			n, median(ratios), n, quantile(ours, 0.5), quantile(limit, 0.5))
	}
}

// readFloor is a filter of n unknowns whose points are read on two set-ups in
// turn, so that every reading tells about all of them.
func readFloor(n int) (f *levelling.Filter, planes, points []levelling.Unknown) {
	f = &levelling.Filter{}
	datum := f.Hold(levelling.Height{SD: 1})
	planes = []levelling.Unknown{f.Enter(datum, 1000, 1), f.Enter(datum, 1000, 1)}
	for f.Len() < n {
		points = append(points, f.Enter(planes[len(points)%2], -1000, 1))
	}
	for i, p := range points {
		f.Observe(p, planes[(i+1)%2], -1000, 1)
	}
	return f, planes, points
}

// pass adds a multiple of a fixed number to each of many.
func pass(xs []float64, k float64) {
	for i := range xs {
		xs[i] += float64(k * 0.5)
	}
}
