package levelling_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"relevel/levelling"
)

func TestCheckStaff(t *testing.T) {
	for _, mm := range []float64{0, 1400, 5000, -5000} {
		if err := levelling.CheckStaff("staff", mm); err != nil {
			t.Errorf("%v mm: %v", mm, err)
		}
	}
	for _, mm := range []float64{5000.1, -5001, math.Inf(1), math.NaN()} {
		wantInputError(t, levelling.CheckStaff("staff", mm), "staff")
	}
}

func TestToMM(t *testing.T) {
	tests := []struct {
		value float64
		unit  levelling.Unit
		want  float64
	}{
		{1234, levelling.Millimetre, 1234},
		{123.4, levelling.Centimetre, 1234},
		{1.234, levelling.Metre, 1234},
		{1, levelling.Inch, 25.4}, // exact since 1959
		{-1.5, levelling.Inch, -38.1},
		{1, levelling.Foot, 304.8},
		{4.92, levelling.Foot, 1499.616},
	}
	for _, tt := range tests {
		got, err := levelling.ToMM(tt.value, tt.unit)
		if err != nil || math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("%v %s is %v mm, %v; want %v", tt.value, tt.unit, got, err, tt.want)
		}
	}
}

func TestUnitBadInput(t *testing.T) {
	_, err := levelling.ToMM(1, "yd")
	wantInputError(t, err, "unit")
	_, err = levelling.FromMM(1, "")
	wantInputError(t, err, "unit")
	_, err = levelling.ToMM(1e308, levelling.Metre)
	wantInputError(t, err, "value")
	_, err = levelling.FromMM(math.NaN(), levelling.Metre)
	wantInputError(t, err, "value")
}

func TestUnitsThereAndBack(t *testing.T) {
	units := []levelling.Unit{levelling.Millimetre, levelling.Centimetre, levelling.Metre, levelling.Inch, levelling.Foot}
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom(units).Draw(t, "unit")
		value := rapid.Float64Range(-1e6, 1e6).Draw(t, "value")
		mm, err := levelling.ToMM(value, unit)
		if err != nil {
			t.Fatal(err)
		}
		back, err := levelling.FromMM(mm, unit)
		if err != nil || math.Abs(back-value) > 1e-9 {
			t.Errorf("%v %s came back as %v, %v", value, unit, back, err)
		}
	})
}

func TestFormat(t *testing.T) {
	tests := []struct {
		mm                        float64
		whole, half, inches, foot string
	}{
		{0, "0", "0", "0", "0.00"},
		{-0.2, "0", "0", "0", "0.00"},
		{0.8, "1", "1", "1/16", "0.00"}, // 0.504 sixteenths
		{12.5, "13", "12.5", "1/2", "0.04"},
		{-12.5, "-13", "-12.5", "-1/2", "-0.04"},
		{-12.4, "-12", "-12.5", "-1/2", "-0.04"},
		{12.7, "13", "12.5", "1/2", "0.04"},
		{25.4, "25", "25.5", "1", "0.08"},
		{38.1, "38", "38", "1 1/2", "0.13"},
		{30.1625, "30", "30", "1 3/16", "0.10"},
		{-50.8, "-51", "-51", "-2", "-0.17"},
		{1499.616, "1500", "1499.5", "59 1/16", "4.92"},
		{25.3, "25", "25.5", "1", "0.08"}, // 15.94 sixteenths carry into the inch
	}
	for _, tt := range tests {
		got := [4]string{
			levelling.FormatMM(tt.mm), levelling.FormatHalfMM(tt.mm), levelling.FormatInches(tt.mm), levelling.FormatFeet(tt.mm),
		}
		if want := [4]string{tt.whole, tt.half, tt.inches, tt.foot}; got != want {
			t.Errorf("%v mm is written %q, want %q", tt.mm, got, want)
		}
	}
}

func TestSixteenths(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mm := rapid.Float64Range(-1e5, 1e5).Draw(t, "mm")
		n := levelling.Sixteenths(mm)
		if n != math.Trunc(n) || math.Abs(n*25.4/16-mm) > 25.4/32+1e-9 {
			t.Errorf("%v mm is %v sixteenths", mm, n)
		}
		if opposite := levelling.Sixteenths(-mm); opposite != -n {
			t.Errorf("%v mm is %v sixteenths, its opposite %v", mm, n, opposite)
		}
	})
}
