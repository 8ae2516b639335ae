package levelling_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"relevel/levelling"
)

// Both are worked examples of textbooks, read, in metres there; the procedure
// is that of US Navy NAVEDTRA 14070.
func TestPegCheck(t *testing.T) {
	tests := []struct {
		name  string
		check levelling.PegCheck
		want  levelling.PegError
	}{
		// True difference 0.630; −0.015 over 25 m of sight difference, 0.060 m
		// per 100 m, the line pointing down.
		{"25 and 50 m", levelling.PegCheck{MidA: 1000, MidB: 1630, OffA: 2847, OffB: 3462, ToA: 25, ToB: 50},
			levelling.PegError{PerMetre: -0.6, CorrectedA: 2862, CorrectedB: 3492}},
		// C and D from F: −0.0025 per metre, corrected 1.80 and 2.80.
		{"120 and 20 m", levelling.PegCheck{MidA: 2000, MidB: 3000, OffA: 1500, OffB: 2750, ToA: 120, ToB: 20},
			levelling.PegError{PerMetre: -2.5, CorrectedA: 1800, CorrectedB: 2800}},
		{"none", levelling.PegCheck{MidA: 1500, MidB: 1400, OffA: 1250, OffB: 1150, ToA: 30, ToB: 0},
			levelling.PegError{PerMetre: 0, CorrectedA: 1250, CorrectedB: 1150}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := tt.check.Error()
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, got, cmpopts.EquateApprox(0, 1e-9)); diff != "" {
				t.Errorf("error (-want +got):\n%s", diff)
			}
		})
	}
}

func TestPegCheckBad(t *testing.T) {
	tests := []struct {
		field string
		check levelling.PegCheck
	}{
		{"off.to_b_m", levelling.PegCheck{ToA: 20, ToB: 20}},
		{"off.to_a_m", levelling.PegCheck{ToA: -1, ToB: 20}},
		{"off.to_b_m", levelling.PegCheck{ToA: 20, ToB: -1}},
		{"mid.a_mm", levelling.PegCheck{MidA: math.NaN(), ToA: 20}},
		{"off.b_mm", levelling.PegCheck{OffB: math.Inf(1), ToA: 20}},
		{"off", levelling.PegCheck{OffA: 1e308, OffB: -1e308, ToA: 20}},
		{"off", levelling.PegCheck{OffA: 1, ToA: 5e-324}},
	}
	for _, tt := range tests {
		_, err := tt.check.Error()
		wantInputError(t, err, tt.field)
	}
}

// A line with a known error is found out, whichever staff is nearer and
// whichever way up they stand.
func TestPegCheckFindsError(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		a, b, mid, off := draw("a", -2000, 2000), draw("b", -2000, 2000), draw("mid", 0, 3000), draw("off", 0, 3000)
		per, half := draw("per", -3, 3), draw("half", 1, 60)
		toA, toB := draw("toA", 0, 20), draw("toB", 40, 80)
		check := levelling.PegCheck{
			MidA: mid - a + per*half, MidB: mid - b + per*half,
			OffA: off - a + per*toA, OffB: off - b + per*toB, ToA: toA, ToB: toB,
		}
		got, err := check.Error()
		if err != nil {
			t.Fatal(err)
		}
		want := levelling.PegError{PerMetre: per, CorrectedA: off - a, CorrectedB: off - b}
		if diff := cmp.Diff(want, got, cmpopts.EquateApprox(0, 1e-9)); diff != "" {
			t.Errorf("error (-want +got):\n%s", diff)
		}
	})
}
