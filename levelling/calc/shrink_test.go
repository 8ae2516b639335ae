package calc

import (
	"errors"
	"strings"
	"testing"

	"relevel/levelling"
)

// USDA Wood Handbook, read: Douglas-fir laid flat loses 0.56 mm of 50 from 19 to
// 12 % and 1.44 from green, oak by its change per 1 %.
func TestShrink(t *testing.T) {
	const (
		line    = `,"source":"USDA Wood Handbook, Table 4-3, straight line from green at 30 % to oven-dry"}`
		percent = `,"source":"USDA Wood Handbook, Table 13-5, change per 1 % of moisture, given for 6 to 14 %"}`
	)
	tests := []struct{ name, in, want string }{
		{"Fir", `{"thickness_mm":50,"species":"douglas-fir","grain":"radial","from_pct":19,"to_pct":12}`, `{"loss_mm":0.56` + line},
		{"FromGreen", `{"thickness_mm":50,"species":"douglas-fir","grain":"radial","from_pct":70,"to_pct":12}`, `{"loss_mm":1.44` + line},
		{"Swells", `{"thickness_mm":50,"species":"douglas-fir","grain":"radial","from_pct":12,"to_pct":19}`, `{"loss_mm":-0.56` + line},
		{"StaysGreen", `{"thickness_mm":50,"species":"douglas-fir","grain":"radial","from_pct":40,"to_pct":90}`, `{"loss_mm":0` + line},
		{"WhiteOak", `{"thickness_mm":50,"species":"white-oak","grain":"radial","from_pct":19,"to_pct":12}`, `{"loss_mm":0.63` + percent},
		{"WhiteOakOnEdge", `{"thickness_mm":50,"species":"white-oak","grain":"tangential","from_pct":19,"to_pct":12}`, `{"loss_mm":1.278` + percent},
		{"RedOak", `{"thickness_mm":50,"species":"red-oak","grain":"radial","from_pct":19,"to_pct":12}`, `{"loss_mm":0.553` + percent},
		{"RedOakOnEdge", `{"thickness_mm":50,"species":"red-oak","grain":"tangential","from_pct":19,"to_pct":12}`, `{"loss_mm":1.292` + percent},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { wantText(t, "shrink", tt.in, tt.want) })
	}
}

func TestShrinkBadInput(t *testing.T) {
	tests := []struct{ in, field string }{
		{`{"species":"red-oak","grain":"radial","from_pct":19,"to_pct":12}`, "thickness_mm"},
		{`{"thickness_mm":0,"species":"red-oak","grain":"radial","from_pct":19,"to_pct":12}`, "thickness_mm"},
		{`{"thickness_mm":5,"grain":"radial","from_pct":19,"to_pct":12}`, "species"},
		{`{"thickness_mm":5,"species":"balsa","grain":"radial","from_pct":19,"to_pct":12}`, "species"},
		{`{"thickness_mm":5,"species":"red-oak","grain":"end","from_pct":19,"to_pct":12}`, "grain"},
		{`{"thickness_mm":5,"species":"red-oak","grain":"radial","from_pct":-1,"to_pct":12}`, "from_pct"},
		{`{"thickness_mm":5,"species":"red-oak","grain":"radial","from_pct":19,"to_pct":-1}`, "to_pct"},
		{`{"thickness_mm":1e308,"species":"red-oak","grain":"radial","from_pct":19}`, "to_pct"},
	}
	for _, tt := range tests {
		wantBad(t, "shrink", tt.in, tt.field)
	}
}

// An unlisted species is told which are.
func TestShrinkListsSpecies(t *testing.T) {
	_, err := Run("shrink", []byte(`{"thickness_mm":5,"species":"balsa","grain":"radial","from_pct":19,"to_pct":12}`))
	var bad *levelling.InputError
	if !errors.As(err, &bad) || !strings.Contains(bad.Cure, "douglas-fir, ") || !strings.Contains(bad.Cure, "red-oak, ") {
		t.Errorf("got %v", err)
	}
}
