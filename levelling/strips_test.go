package levelling

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Whatever lies within reach is near, both ways, at every scale of plan.
func TestStripsMissNoPair(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		scale := rapid.SampledFrom([]float64{1, 0.1, 1e-150, 1e9, 1e17, 1e150, 1e307}).Draw(t, "scale")
		high := rapid.SampledFrom([]float64{0, 1, 9}).Draw(t, "high")
		wide := rapid.SampledFrom([]float64{0, 1, 9}).Draw(t, "wide")
		n := rapid.IntRange(1, 40).Draw(t, "points")
		x := rapid.SliceOfN(rapid.Float64Range(-wide, wide), n, n).Draw(t, "x")
		y := rapid.SliceOfN(rapid.Float64Range(-high, high), n, n).Draw(t, "y")
		for i := range n {
			x[i], y[i] = x[i]*scale, y[i]*scale
		}
		reach := scale * rapid.SampledFrom([]float64{0.3, 1, 2, 20}).Draw(t, "reach")
		s := newStrips(x, y, reach)
		near := func(i, j int) bool {
			windows := s.near(int32(i))
			return slices.Contains(slices.Concat(windows[:]...), int32(j))
		}
		for i := range n {
			for j := range n {
				if math.Hypot(x[i]-x[j], y[i]-y[j]) <= reach*(1-1e-6) && !near(i, j) {
					t.Errorf("%v,%v is within %v of %v,%v and not near it", x[j], y[j], reach, x[i], y[i])
				}
			}
		}
	})
}

// What is near is few, or the search is for nothing.
func TestStripsAreNarrow(t *testing.T) {
	var x, y []float64
	for i := range 1600 {
		x, y = append(x, float64(i%40)), append(y, float64(i/40))
	}
	windows := newStrips(x, y, 3).near(820)
	if n := len(slices.Concat(windows[:]...)); n > 9*7*2 {
		t.Errorf("%d of 1 600 points are near, at 29 within reach", n)
	}
}

// The heap hands out points by height, equal ones by index, with heights raised
// in between.
func TestHeap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		height := rapid.SliceOfN(rapid.Map(rapid.IntRange(-9, 9), func(n int) float64 { return float64(n) }), 1, 30).Draw(t, "heights")
		h := newHeap(height)
		left := make([]int32, len(height))
		for i := range left {
			left[i] = int32(i)
		}
		for len(left) > 0 {
			if i := rapid.SampledFrom(left).Draw(t, "raised"); rapid.Bool().Draw(t, "raise") {
				height[i] += 3
				h.raised(i)
			}
			want := slices.MinFunc(left, func(i, j int32) int {
				if h.above(i, j) {
					return -1
				}
				return 1
			})
			if got := h.pop(); got != want {
				t.Fatalf("handed out %d at %v, want %d at %v", got, height[got], want, height[want])
			}
			left = slices.DeleteFunc(left, func(i int32) bool { return i == want })
		}
	})
}
