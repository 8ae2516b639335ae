package levelling_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"relevel/levelling"
)

// A floor on a slope has that slope; one along a line has it along the line.
func TestBestSlope(t *testing.T) {
	at := func(x, y, h float64) levelling.AimPoint { return levelling.AimPoint{X: x, Y: y, HeightMM: h} }
	tests := []struct {
		name   string
		points []levelling.AimPoint
		x, y   float64
	}{
		{"none", nil, 0, 0},
		{"one", []levelling.AimPoint{at(1, 2, 3)}, 0, 0},
		{"at one place", []levelling.AimPoint{at(1, 2, 3), at(1, 2, 5)}, 0, 0},
		{"along x", []levelling.AimPoint{at(0, 1, 0), at(2, 1, 6), at(4, 1, 12)}, 3, 0},
		{"along y", []levelling.AimPoint{at(1, 0, 0), at(1, 2, -6)}, 0, -3},
		{"along a diagonal", []levelling.AimPoint{at(0, 0, 0), at(1, 1, 4), at(2, 2, 8)}, 2, 2},
		{"a plane", []levelling.AimPoint{at(0, 0, 7), at(3, 0, 13), at(0, 2, 1), at(3, 2, 7)}, 2, -3},
		{"bent", []levelling.AimPoint{at(0, 0, 0), at(1, 0, 3), at(2, 0, 0)}, 0, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			x, y := levelling.BestSlope(tt.points)
			if math.Abs(x-tt.x) > 1e-9 || math.Abs(y-tt.y) > 1e-9 {
				t.Errorf("got %v, %v; want %v, %v", x, y, tt.x, tt.y)
			}
		})
	}
}

// No other slope fits better.
func TestBestSlopeIsLeastSquares(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mm := rapid.Map(rapid.IntRange(-400, 400), func(n int) float64 { return float64(n) / 8 })
		points := make([]levelling.AimPoint, rapid.IntRange(3, 12).Draw(t, "points"))
		for i := range points {
			points[i] = levelling.AimPoint{X: mm.Draw(t, "x"), Y: mm.Draw(t, "y"), HeightMM: mm.Draw(t, "height")}
		}
		off := func(x, y float64) (sum float64) {
			mean := 0.0
			for _, p := range points {
				mean += (p.HeightMM - x*p.X - y*p.Y) / float64(len(points))
			}
			for _, p := range points {
				d := p.HeightMM - x*p.X - y*p.Y - mean
				sum += d * d
			}
			return sum
		}
		x, y := levelling.BestSlope(points)
		best := off(x, y)
		for _, d := range [][2]float64{{0.01, 0}, {-0.01, 0}, {0, 0.01}, {0, -0.01}} {
			if other := off(x+d[0], y+d[1]); other < best-1e-6*(1+best) {
				t.Errorf("slope %v, %v leaves %v and %v beside it %v", x, y, best, d, other)
			}
		}
	})
}
