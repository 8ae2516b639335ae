package underfloor_test

import (
	"math"
	"testing"

	"relevel/levelling/underfloor"
)

// BRE Digest 251 (read): class 0 below 0.1 mm, then upper bounds inclusive.
func TestCrackClass(t *testing.T) {
	tests := []struct {
		width float64
		class int
	}{
		{0, 0}, {0.099999, 0},
		{0.1, 1}, {1, 1},
		{1.000001, 2}, {2.5, 2}, {5, 2},
		{5.000001, 3}, {15, 3},
		{15.000001, 4}, {25, 4},
		{25.000001, 5}, {1e308, 5},
	}
	for _, tt := range tests {
		got, err := underfloor.CrackClass(tt.width)
		if err != nil || got != tt.class {
			t.Errorf("%v mm is class %d, %v; want %d", tt.width, got, err, tt.class)
		}
	}
	for _, bad := range []float64{-0.001, math.NaN(), math.Inf(1)} {
		_, err := underfloor.CrackClass(bad)
		wantBad(t, err, "width_mm")
	}
}
