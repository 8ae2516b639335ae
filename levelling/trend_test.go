package levelling_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"relevel/levelling"
)

// Rates are computed by hand from the normal equations of a straight line.
func TestTrend(t *testing.T) {
	tests := []struct {
		name     string
		readings []levelling.TrendReading
		want     levelling.Movement
	}{
		{"one reading", []levelling.TrendReading{{100, -3, 1}},
			levelling.Movement{Verdict: levelling.TooSoon}},
		{"all on one day", []levelling.TrendReading{{100, -3, 1}, {100, -4, 1}, {100, -5, 1}},
			levelling.Movement{Verdict: levelling.TooSoon}},
		// −12 mm in 12 months: sd of the slope √2 / 12.
		{"two readings", []levelling.TrendReading{{0, 0, 1}, {365.25, -12, 1}},
			levelling.Movement{Rate: rate(-1, 1.96*math.Sqrt2/12), SpanDays: 365.25, Verdict: levelling.TooSoon}},
		{"a day short", []levelling.TrendReading{{0, 0, 1}, {182, 0, 1}, {364, 0, 1}},
			levelling.Movement{Rate: rate(0, 1.96/math.Sqrt(2)/182*30.4375), SpanDays: 364, Verdict: levelling.TooSoon}},
		{"a year, stable", []levelling.TrendReading{{365, 0, 1}, {182.5, 0, 1}, {0, 0, 1}},
			levelling.Movement{Rate: rate(0, 1.96/math.Sqrt(2)/182.5*30.4375), SpanDays: 365, Verdict: levelling.Stable}},
		{"sinking", []levelling.TrendReading{{0, 0, 1}, {182.625, -6, 1}, {365.25, -12, 1}},
			levelling.Movement{Rate: rate(-1, 1.96*math.Sqrt2/12), SpanDays: 365.25, Verdict: levelling.Moving}},
		// The middle one counts for little, and pulls the line by little.
		{"weighted", []levelling.TrendReading{{0, 0, 1}, {0, 9, 3}, {365.25, -12, 1}},
			levelling.Movement{Rate: rate(-12.9/12, 1.96*math.Sqrt(1+1/(1+1.0/9))/12), SpanDays: 365.25, Verdict: levelling.Moving}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := levelling.Trend(tt.readings)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, got, cmpopts.EquateApprox(0, 1e-12)); diff != "" {
				t.Errorf("movement (-want +got):\n%s", diff)
			}
		})
	}
}

func rate(per, band float64) *levelling.Rate {
	return &levelling.Rate{PerMonth: per, Low: per - band, High: per + band}
}

func TestTrendBad(t *testing.T) {
	tests := []struct {
		field    string
		readings []levelling.TrendReading
	}{
		{"readings", nil},
		{"readings[0].day", []levelling.TrendReading{{math.NaN(), 0, 1}}},
		{"readings[1].height_mm", []levelling.TrendReading{{0, 0, 1}, {0, math.Inf(1), 1}}},
		{"readings[0].sd_mm", []levelling.TrendReading{{0, 0, 0}}},
		{"readings[0].sd_mm", []levelling.TrendReading{{0, 0, -1}}},
		{"readings[1].sd_mm", []levelling.TrendReading{{0, 0, 1e-200}, {1, 0, 1e200}}},
		{"readings", []levelling.TrendReading{{-1.7e308, 0, 1}, {1.7e308, 0, 1}}},
		{"readings", []levelling.TrendReading{{0, -1.7e308, 1}, {1, 1.7e308, 1}}},
		{"readings", []levelling.TrendReading{{0, 0, 1}, {5e-324, 1, 1}}},
	}
	for _, tt := range tests {
		_, err := levelling.Trend(tt.readings)
		wantInputError(t, err, tt.field)
	}
}

// Great heights, another first day and another unit of all standard deviations
// change nothing but the band.
func TestTrendShifted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		readings := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) levelling.TrendReading {
			return levelling.TrendReading{
				Day:      float64(rapid.IntRange(0, 1000).Draw(t, "day")),
				HeightMM: float64(rapid.IntRange(-40, 40).Draw(t, "height")),
				SD:       rapid.SampledFrom([]float64{0.5, 1, 2}).Draw(t, "sd"),
			}
		}), 3, 12).Draw(t, "readings")
		readings[0].Day = 1001
		moved := make([]levelling.TrendReading, len(readings))
		for i, r := range readings {
			moved[i] = levelling.TrendReading{Day: r.Day + 20000, HeightMM: r.HeightMM + 1<<30, SD: 4 * r.SD}
		}
		a, errA := levelling.Trend(readings)
		b, errB := levelling.Trend(moved)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		want := rate(a.Rate.PerMonth, 4*(a.Rate.High-a.Rate.PerMonth))
		if diff := cmp.Diff(want, b.Rate, cmpopts.EquateApprox(0, 1e-9)); diff != "" {
			t.Errorf("rate (-want +got):\n%s", diff)
		}
	})
}
