package levelling_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"relevel/levelling"
)

type height = levelling.Height

// US Navy manual NAVEDTRA 14081 (ft; read): HI 237.0, reading 4.5, ground 232.5,
// wanted 239.0, so 6.5 to fill.
func TestRemainingNavy(t *testing.T) {
	var f levelling.Filter
	plane := f.Height(f.Enter(f.Hold(height{MM: 233}), 4, 1))
	if plane.MM != 237 {
		t.Fatalf("got plane %v, want 237", plane)
	}
	present := levelling.Reduce(plane, 4.5, 1)
	if present.MM != 232.5 {
		t.Errorf("ground at %v, want 232.5", present.MM)
	}
	if lift := levelling.Remaining(239, present.MM); lift != 6.5 {
		t.Errorf("to fill %v, want 6.5", lift)
	}
	if stop := levelling.StopFigure(plane, 239); stop != -2 {
		t.Errorf("stop figure %v, want -2: upside down, 2 above the plane", stop)
	}
}

func TestReduceInverted(t *testing.T) {
	// Underground levelling exercise (m; read, computed): HI 162.713, A −3.045.
	got := levelling.Reduce(height{162.713, 3}, -3.045, 4)
	if math.Abs(got.MM-165.758) > 1e-9 || got.SD != 5 {
		t.Errorf("got %v, want 165.758 ± 5", got)
	}
}

func TestDisagrees(t *testing.T) {
	tests := []struct {
		name           string
		read, expected height
		by             float64
		odd            bool
	}{
		{"equal", height{5, 1}, height{5, 1}, 0, false},
		{"just within", height{3.2905 * 5, 3}, height{0, 4}, 16.4525, false},
		{"just past", height{3.2906 * 5, 3}, height{0, 4}, 16.453, true},
		{"below", height{-17, 3}, height{0, 4}, -17, true},
		{"both exact and equal", height{5, 0}, height{5, 0}, 0, false},
		{"both exact", height{5, 0}, height{4, 0}, 1, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			by, odd := levelling.Disagrees(tt.read, tt.expected)
			if math.Abs(by-tt.by) > 1e-9 || odd != tt.odd {
				t.Errorf("got %v, %t; want %v, %t", by, odd, tt.by, tt.odd)
			}
		})
	}
}

// The critical value is the point of the normal distribution that 0.1 % lie
// beyond, both tails together (reference table; computed).
func TestCriticalValue(t *testing.T) {
	beyond := math.Erfc(levelling.CriticalValue / math.Sqrt2)
	if math.Abs(beyond-0.001) > 1e-6 {
		t.Errorf("%v lies beyond %v, want 0.001", beyond, levelling.CriticalValue)
	}
}

// When the staff reads the stop figure, the remaining lift is zero.
func TestStopFigureEndsTheLift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		plane := height{float64(rapid.IntRange(-4000, 4000).Draw(t, "plane")), 1}
		target := float64(rapid.IntRange(-4000, 4000).Draw(t, "target"))
		staff := levelling.StopFigure(plane, target)
		if left := levelling.Remaining(target, levelling.Reduce(plane, staff, 1).MM); left != 0 {
			t.Errorf("%v left at the stop figure %v", left, staff)
		}
	})
}
