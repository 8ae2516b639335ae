package underfloor_test

import (
	"strings"
	"testing"

	"relevel/levelling/underfloor"
)

// 24 CFR 3285.304, read (2015): shims fill 1 in, then a plate of 2 in or a block
// of 2 or 4. MBIE, read: one pile is packed 100 mm, over the full width.
func TestPackingRules(t *testing.T) {
	tests := []struct {
		name   string
		rule   string
		pieces []float64
		narrow bool
		want   string // part of what is said
	}{
		{"OneShim", "24cfr-3285-304", []float64{25}, false, ""},
		{"ShimsOfAnInch", "24cfr-3285-304", []float64{12.7, 12.7}, false, ""},
		{"ShimsPastAnInch", "24cfr-3285-304", []float64{20, 20}, false, "40 mm of shims: they fill 25.4 mm at most"},
		{"PlateAndShim", "24cfr-3285-304", []float64{50, 20}, false, ""},
		{"PlateAndShims", "24cfr-3285-304", []float64{50, 20, 6}, false, "26 mm of shims"},
		{"TwoPlates", "24cfr-3285-304", []float64{50, 50}, false, ""},
		{"ThickPlate", "24cfr-3285-304", []float64{70}, false, "a plate is 50.8 mm at most, so that it has to be a block"},
		{"ThickBlock", "24cfr-3285-304", []float64{150}, false, "a block is 101.6 mm at most"},
		{"NoWidth", "24cfr-3285-304", []float64{25}, true, ""},
		{"HundredMM", "mbie", []float64{50, 50}, false, ""},
		{"PastHundredMM", "mbie", []float64{60, 60}, false, "120 mm of packing: one support is packed 100 mm at most"},
		{"Narrow", "mbie", []float64{20}, true, "full width"},
		{"Nothing", "mbie", nil, false, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r, known := underfloor.FindPackingRule(tt.rule)
			if !known {
				t.Fatal("no such rule")
			}
			said := r.Breaks(tt.pieces, !tt.narrow)
			if (said == "") != (tt.want == "") || !strings.Contains(said, tt.want) {
				t.Errorf("said %q, want %q", said, tt.want)
			}
		})
	}
}

// Every rule says whose it is and what it asks, H3.2 and caps too.
func TestPackingRulesSay(t *testing.T) {
	var all []string
	for _, r := range underfloor.PackingRules() {
		if r.Name == "" || r.Title == "" || r.Source == "" || len(r.Limits) == 0 {
			t.Errorf("%+v", r)
		}
		all = append(all, r.Limits...)
	}
	for _, want := range []string{"H3.2", "full width", "100 mm at most", "1 in (25 mm)", "2 in (51 mm)", "capped"} {
		if !strings.Contains(strings.Join(all, "\n"), want) {
			t.Errorf("nothing says %s", want)
		}
	}
	if _, known := underfloor.FindPackingRule("mine"); known {
		t.Error("a rule that nobody published")
	}
}
