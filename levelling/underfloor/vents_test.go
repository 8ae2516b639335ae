package underfloor_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"relevel/levelling/underfloor"
)

// 30 m of wall and 50 m² by each rule, computed from NCC 2022 Housing Provisions
// 6.2.1a (read as NCC 2019 3.4.1), NZ E2/AS1, IRC R408 and UK Approved Document C
// (second-hand).
func TestVents(t *testing.T) {
	tests := []struct {
		rule   underfloor.VentRule
		zone   string
		sealed bool
		want   float64
		source string
	}{
		{"ncc-2022", "A", false, 60_000, "NCC"},
		{"ncc-2022", "B", false, 120_000, "NCC"},
		{"ncc-2022", "C", false, 180_000, "NCC"},
		{"ncc-2022", "A", true, 30_000, "NCC"},
		{"ncc-2022", "B", true, 60_000, "NCC"},
		{"ncc-2022", "C", true, 90_000, "NCC"},
		{"nz-e2", "", false, 175_000, "E2/AS1"},
		{"nz-e2", "C", true, 175_000, "E2/AS1"}, // it takes no notice of either
		{"irc", "", false, 333_333.333, "IRC"},
		{"irc", "", true, 33_333.333, "IRC"},
		{"uk-c", "", false, 45_000, "Document C"},
		{"uk-c", "A", true, 45_000, "Document C"},
	}
	for _, tt := range tests {
		t.Run(fmt.Sprint(tt.rule, tt.zone, tt.sealed), func(t *testing.T) {
			a := underfloor.Airing{Rule: tt.rule, Zone: tt.zone, Sealed: tt.sealed, WallM: 30, FloorM2: 50, VentsMM2: []float64{10_000, 40_000}}
			v, err := a.Vents()
			if err != nil {
				t.Fatal(err)
			}
			near(t, "required", v.Required, tt.want, 0.001)
			near(t, "provided", *v.Provided, 50_000, 0)
			near(t, "short", *v.Short, math.Max(0, tt.want-50_000), 0.001)
			if !strings.Contains(v.Source, tt.source) {
				t.Errorf("source %q", v.Source)
			}
		})
	}
}

// UK Approved Document C takes the greater of wall and floor.
func TestVentsGreater(t *testing.T) {
	v, err := underfloor.Airing{Rule: underfloor.UKC, WallM: 30, FloorM2: 100}.Vents()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "required", v.Required, 50_000, 0)
	if v.Provided != nil || v.Short != nil {
		t.Error("nobody counted the vents")
	}
}

// No vents is not the same as vents that nobody counted.
func TestVentsNone(t *testing.T) {
	v, err := underfloor.Airing{Rule: underfloor.NZE2, WallM: 30, FloorM2: 50, VentsMM2: []float64{}}.Vents()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "provided", *v.Provided, 0, 0)
	near(t, "short", *v.Short, 175_000, 0)
}

func TestVentsBad(t *testing.T) {
	ok := underfloor.Airing{Rule: underfloor.NCC2022, Zone: "A", WallM: 30, FloorM2: 50}
	for _, rule := range []underfloor.VentRule{"", "ncc", "NCC-2022"} {
		a := ok
		a.Rule = rule
		_, err := a.Vents()
		wantBad(t, err, "rule")
	}
	for _, zone := range []string{"", "D", "a"} {
		a := ok
		a.Zone = zone
		_, err := a.Vents()
		wantBad(t, err, "zone")
	}
	for _, x := range odd {
		a, b, c := ok, ok, ok
		a.WallM, b.FloorM2, c.VentsMM2 = x, x, []float64{1, x}
		for field, airing := range map[string]underfloor.Airing{"wall_m": a, "floor_m2": b, "vents_mm2[1]": c} {
			_, err := airing.Vents()
			wantBad(t, err, field)
		}
	}
}

func TestVentsTooLarge(t *testing.T) {
	for _, a := range []underfloor.Airing{
		{Rule: underfloor.NCC2022, Zone: "C", WallM: 1e308},
		{Rule: underfloor.NZE2, FloorM2: 1e308},
		{Rule: underfloor.IRC, FloorM2: 1e308},
		{Rule: underfloor.UKC, WallM: 1e308},
		{Rule: underfloor.UKC, VentsMM2: []float64{1e308, 1e308}},
	} {
		_, err := a.Vents()
		wantBad(t, err, "input")
	}
}
