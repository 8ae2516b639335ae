package levelling_test

import (
	"math"
	"testing"

	"relevel/levelling"
)

func TestLimitAt(t *testing.T) {
	table := []levelling.LimitRow{{Metres: 1, MM: 3}, {Metres: 4, MM: 9}}
	flat := levelling.Limit{Kind: levelling.PairLimit, OverM: 2, MM: 4, Rule: levelling.Flat}
	scaled := levelling.Limit{Kind: levelling.PairLimit, OverM: 2, MM: 4, Rule: levelling.Proportional}
	bands := levelling.Limit{Kind: levelling.PairLimit, OverM: 10, Rule: levelling.Bands, Table: table}
	linear := levelling.Limit{Kind: levelling.PairLimit, OverM: 10, Rule: levelling.Linear, Table: table}
	whole := levelling.Limit{Kind: levelling.RangeLimit, MM: 10}
	tests := []struct {
		name     string
		limit    levelling.Limit
		distance float64
		mm       float64
		holds    bool
	}{
		// BRANZ Build 155 (read): not scaled down for shorter lengths.
		{"flat, short", flat, 0.1, 4, true},
		{"flat, at its length", flat, 2, 4, true},
		{"flat, at its length but for rounding", flat, math.Nextafter(2, 3), 4, true},
		{"flat, beyond", flat, 2.001, 0, false},
		{"proportional, short", scaled, 0.5, 1, true},
		{"proportional, one place", scaled, 0, 0, true},
		{"proportional, at its length but for rounding", scaled, math.Nextafter(2, 3), 4, true},
		{"proportional, beyond", scaled, 2.001, 0, false},
		{"bands, below the first", bands, 0.5, 3, true},
		{"bands, at the first but for rounding", bands, math.Nextafter(1, 2), 3, true},
		{"bands, past the first", bands, 1.001, 9, true},
		{"bands, past the last", bands, 10, 9, true},
		{"bands, beyond", bands, 10.001, 0, false},
		{"linear, below the first", linear, 0.5, 3, true},
		{"linear, between", linear, 2.5, 6, true},
		{"linear, at the last", linear, 4, 9, true},
		{"linear, past the last", linear, 10, 9, true},
		{"linear, beyond", linear, 10.001, 0, false},
		{"range", whole, 1e300, 10, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			mm, holds := tt.limit.At(tt.distance)
			if mm != tt.mm || holds != tt.holds {
				t.Errorf("at %v m: %v mm, %v; want %v, %v", tt.distance, mm, holds, tt.mm, tt.holds)
			}
		})
	}
}

func TestLimitCheck(t *testing.T) {
	pair := func(overM, mm float64, rule levelling.LimitRule, rows ...levelling.LimitRow) levelling.Limit {
		return levelling.Limit{Kind: levelling.PairLimit, OverM: overM, MM: mm, Rule: rule, Table: rows}
	}
	tests := []struct {
		name   string
		limit  levelling.Limit
		margin float64
		field  string
	}{
		{"no kind", levelling.Limit{MM: 1}, 0, "at.kind"},
		{"range of nothing", levelling.Limit{Kind: levelling.RangeLimit}, 0, "at.limit_mm"},
		{"range and no more than the margin", levelling.Limit{Kind: levelling.RangeLimit, MM: 2}, 2, "at.limit_mm"},
		{"over nothing", pair(0, 4, levelling.Flat), 0, "at.over_m"},
		{"over more than there is", pair(math.Inf(1), 4, levelling.Flat), 0, "at.over_m"},
		{"no rule", pair(2, 4, ""), 0, "at.rule"},
		{"flat of less than nothing", pair(2, -4, levelling.Flat), 0, "at.limit_mm"},
		{"flat and less than the margin", pair(2, 4, levelling.Flat), 5, "at.limit_mm"},
		{"proportional and the margin", pair(2, 4, levelling.Proportional), 4, "at.limit_mm"},
		{"not a number", pair(2, math.NaN(), levelling.Proportional), 0, "at.limit_mm"},
		{"more rows than anybody has", pair(2, 0, levelling.Bands, make([]levelling.LimitRow, 101)...), 0, "at.table"},
		{"no rows", pair(2, 0, levelling.Bands), 0, "at.table"},
		{"below no metres", pair(2, 0, levelling.Linear, levelling.LimitRow{Metres: -1, MM: 3}), 0, "at.table[0]"},
		{"rows of one length", pair(2, 0, levelling.Linear, levelling.LimitRow{Metres: 1, MM: 3}, levelling.LimitRow{Metres: 1, MM: 4}), 0, "at.table[1]"},
		{"rows that fall", pair(2, 0, levelling.Bands, levelling.LimitRow{Metres: 1, MM: 3}, levelling.LimitRow{Metres: 0.5, MM: 4}), 0, "at.table[1]"},
		{"a row of nothing", pair(2, 0, levelling.Bands, levelling.LimitRow{Metres: 1, MM: 0}), 0, "at.table[0]"},
		{"a row and the margin", pair(2, 0, levelling.Bands, levelling.LimitRow{Metres: 1, MM: 3}), 3, "at.table[0]"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { wantInputError(t, tt.limit.Check("at", tt.margin), tt.field) })
	}
	for _, fine := range []levelling.Limit{
		pair(2, 4, levelling.Flat), pair(2, 4, levelling.Proportional),
		pair(2, 0, levelling.Linear, levelling.LimitRow{Metres: 0, MM: 5}, levelling.LimitRow{Metres: 1, MM: 4}),
		{Kind: levelling.RangeLimit, MM: 4},
	} {
		if err := fine.Check("at", 3.5); err != nil {
			t.Errorf("%v: %v", fine, err)
		}
	}
}

func TestDistance(t *testing.T) {
	if got := levelling.Distance(1, 1, 4, -3); got != 5 {
		t.Errorf("3 and 4 across are %v apart, want 5", got)
	}
}
