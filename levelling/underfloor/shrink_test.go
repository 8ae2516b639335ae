package underfloor_test

import (
	"slices"
	"strings"
	"testing"

	"relevel/levelling/underfloor"
)

// USDA Wood Handbook, Tables 4-3 and 13-5, read: 50 mm of Douglas-fir laid flat
// loses 0.56 mm from 19 to 12 %, and 1.44 mm from green (computed).
func TestShrinkage(t *testing.T) {
	tests := []struct {
		name         string
		species      string
		grain        underfloor.Grain
		from, to     float64
		want, within float64
	}{
		{"FirDries", "douglas-fir", "radial", 19, 12, 0.56, 0.005},
		{"FirFromGreen", "douglas-fir", "radial", 30, 12, 1.44, 0.005},
		{"FirFromAboveGreen", "douglas-fir", "radial", 85, 12, 1.44, 0.005},
		{"FirToOven", "douglas-fir", "tangential", 30, 0, 50 * 0.076, 1e-9},
		{"CedarToOven", "western-redcedar", "radial", 30, 0, 50 * 0.024, 1e-9},
		{"WhiteFirToOven", "white-fir", "tangential", 30, 0, 50 * 0.070, 1e-9},
		{"WhiteOak", "white-oak", "radial", 19, 12, 50 * 7 * 0.00180, 1e-9},
		{"WhiteOakTangential", "white-oak", "tangential", 19, 12, 50 * 7 * 0.00365, 1e-9},
		{"RedOak", "red-oak", "radial", 19, 12, 50 * 7 * 0.00158, 1e-9},
		{"RedOakTangential", "red-oak", "tangential", 19, 12, 50 * 7 * 0.00369, 1e-9},
		{"OakFromAboveGreen", "red-oak", "radial", 60, 20, 50 * 10 * 0.00158, 1e-9},
		{"Swells", "white-oak", "radial", 12, 19, -50 * 7 * 0.00180, 1e-9},
		{"SwellsAsFarAsGreen", "douglas-fir", "radial", 12, 1e300, -1.44, 0.005},
		{"StaysGreen", "white-oak", "radial", 40, 35, 0, 0},
		{"StaysDry", "douglas-fir", "radial", 12, 12, 0, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			loss, source, err := underfloor.Shrinkage(50, tt.species, tt.grain, tt.from, tt.to)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "loss", loss, tt.want, tt.within)
			if oak := strings.HasSuffix(tt.species, "oak"); strings.Contains(source, "per 1 %") != oak {
				t.Errorf("source %q", source)
			}
		})
	}
}

// The straight line starts at 30 %, so that an answer by the handbook's change
// per 1 % for Douglas-fir, 0.00165, which is for 6 to 14 %, is not the one.
func TestShrinkageByTheStraightLine(t *testing.T) {
	loss, _, err := underfloor.Shrinkage(50, "douglas-fir", "radial", 19, 12)
	if err != nil {
		t.Fatal(err)
	}
	if loss > 0.57 {
		t.Errorf("%g mm", loss)
	}
}

// A flat-sawn piece on its edge loses more than one laid flat.
func TestSpecies(t *testing.T) {
	names := underfloor.Species()
	if !slices.IsSorted(names) {
		t.Errorf("not in order: %v", names)
	}
	for _, name := range names {
		flat, source, err := underfloor.Shrinkage(50, name, underfloor.Radial, 30, 12)
		if err != nil {
			t.Fatal(err)
		}
		edge, _, err := underfloor.Shrinkage(50, name, underfloor.Tangential, 30, 12)
		if err != nil {
			t.Fatal(err)
		}
		if !(0.5 < flat && flat < edge && edge < 5) || !strings.Contains(source, "Wood Handbook") {
			t.Errorf("%s: %g flat, %g on edge, by %s", name, flat, edge, source)
		}
	}
}

func TestShrinkageBad(t *testing.T) {
	for _, x := range odd {
		_, _, err := underfloor.Shrinkage(x, "red-oak", "radial", 19, 12)
		wantBad(t, err, "thickness_mm")
		_, _, err = underfloor.Shrinkage(50, "red-oak", "radial", x, 12)
		wantBad(t, err, "from_pct")
		_, _, err = underfloor.Shrinkage(50, "red-oak", "radial", 19, x)
		wantBad(t, err, "to_pct")
	}
	_, _, err := underfloor.Shrinkage(50, "red-oak", "end", 19, 12)
	wantBad(t, err, "grain")
	for _, unlisted := range []string{"", "balsa", "Red-Oak"} {
		_, _, err = underfloor.Shrinkage(50, unlisted, "radial", 19, 12)
		wantBad(t, err, "species")
		for _, known := range underfloor.Species() {
			if !strings.Contains(err.Error(), known) {
				t.Errorf("%v does not list %s", err, known)
			}
		}
	}
}
