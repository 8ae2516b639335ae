package underfloor_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"relevel/levelling/underfloor"
)

// pier is the design load by the assumptions under 24 CFR 3285.303 Table 1: half
// of a floor 15 ft wide, a roof that reaches half of an eave of 2 ft farther, 35
// and 10 lb/ft of wall and chassis, 300 lb of pier, rounded up to 100 lb.
func pier(t *testing.T, spacing, roofLive, roofWidth, floorWidth float64) float64 {
	t.Helper()
	sums, err := underfloor.Loads{
		Floor:      underfloor.Spread{AreaM2: floorWidth * spacing * foot * foot, DeadKPa: psf(6), LiveKPa: psf(40)},
		Roof:       &underfloor.Spread{AreaM2: roofWidth * spacing * foot * foot, DeadKPa: psf(10), LiveKPa: psf(roofLive)},
		Walls:      []underfloor.Wall{{RunM: spacing * foot, HeightM: foot, DeadKPa: psf(35)}, {RunM: spacing * foot, HeightM: foot, DeadKPa: psf(10)}},
		Continuity: 1,
	}.Sum()
	if err != nil {
		t.Fatal(err)
	}
	return math.Ceil((sums.Design*lbPerKN+300)/100-1e-6) * 100
}

// 24 CFR 3285.303 Table 1, read: the twelve loads of it.
func TestTributaryTable(t *testing.T) {
	table := map[float64][3]float64{
		4:  {2900, 3300, 3600},
		6:  {4200, 4700, 5200},
		8:  {5500, 6200, 6900},
		10: {6800, 7600, 8500},
	}
	for spacing, want := range table {
		for i, roofLive := range []float64{20, 30, 40} {
			if got := pier(t, spacing, roofLive, 8.5, 7.5); got != want[i] {
				t.Errorf("%g ft at %g psf: %.0f lb, the table has %.0f", spacing, roofLive, got, want[i])
			}
		}
	}
}

// The roof's half width counts the eave and the floor's does not (24 CFR
// 3285.303, read): otherwise the table does not come out.
func TestTributaryTableWidths(t *testing.T) {
	if got := pier(t, 8, 20, 7.5, 7.5); got == 5500 {
		t.Error("5 500 lb without the eave")
	}
	if got := pier(t, 8, 20, 8.5, 8.5); got == 5500 {
		t.Error("5 500 lb with a floor below the eave")
	}
}

func TestLoads(t *testing.T) {
	floor := underfloor.Spread{AreaM2: 3, DeadKPa: 0.5, LiveKPa: 1.5}
	tests := []struct {
		name  string
		loads underfloor.Loads
		want  underfloor.Sums
	}{
		{"Floor", underfloor.Loads{Floor: floor, Continuity: 1}, underfloor.Sums{Dead: 1.5, Live: 4.5, Design: 6, Jack: 1.5}},
		{"Continuous", underfloor.Loads{Floor: floor, Continuity: 1.2, JackLive: 0.4}, underfloor.Sums{Dead: 1.8, Live: 5.4, Design: 7.2, Jack: 3}},
		{
			"RoofAndWalls",
			underfloor.Loads{
				Floor: floor, Continuity: 1,
				Roof:  &underfloor.Spread{AreaM2: 4, DeadKPa: 0.9, LiveKPa: 0.25},
				Walls: []underfloor.Wall{{RunM: 2, HeightM: 2.5, DeadKPa: 0.3}, {RunM: 1, HeightM: 2, DeadKPa: 2}},
			},
			underfloor.Sums{Dead: 10.6, Live: 5.5, Design: 16.1, Jack: 10.6},
		},
		{"Nothing", underfloor.Loads{Continuity: 1, JackLive: 0.4}, underfloor.Sums{}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := tt.loads.Sum()
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, got, cmpopts.EquateApprox(0, 1e-12)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestLoadsBad(t *testing.T) {
	fields := map[string]func(*underfloor.Loads, float64){
		"floor.area_m2":     func(l *underfloor.Loads, x float64) { l.Floor.AreaM2 = x },
		"floor.dead_kpa":    func(l *underfloor.Loads, x float64) { l.Floor.DeadKPa = x },
		"floor.live_kpa":    func(l *underfloor.Loads, x float64) { l.Floor.LiveKPa = x },
		"roof.area_m2":      func(l *underfloor.Loads, x float64) { l.Roof.AreaM2 = x },
		"roof.dead_kpa":     func(l *underfloor.Loads, x float64) { l.Roof.DeadKPa = x },
		"roof.live_kpa":     func(l *underfloor.Loads, x float64) { l.Roof.LiveKPa = x },
		"walls[1].run_m":    func(l *underfloor.Loads, x float64) { l.Walls[1].RunM = x },
		"walls[1].height_m": func(l *underfloor.Loads, x float64) { l.Walls[1].HeightM = x },
		"walls[0].dead_kpa": func(l *underfloor.Loads, x float64) { l.Walls[0].DeadKPa = x },
		"continuity":        func(l *underfloor.Loads, x float64) { l.Continuity = x },
		"jack_live_kpa":     func(l *underfloor.Loads, x float64) { l.JackLive = x },
	}
	for field, set := range fields {
		for _, x := range odd {
			l := underfloor.Loads{Roof: &underfloor.Spread{}, Walls: make([]underfloor.Wall, 2), Continuity: 1}
			set(&l, x)
			_, err := l.Sum()
			wantBad(t, err, field)
		}
	}
	_, err := underfloor.Loads{Continuity: 0}.Sum()
	wantBad(t, err, "continuity")
}

func TestLoadsTooLarge(t *testing.T) {
	huge := underfloor.Spread{AreaM2: 1e200, DeadKPa: 1e200}
	for _, l := range []underfloor.Loads{
		{Floor: huge, Continuity: 1},
		{Roof: &huge, Continuity: 1},
		{Floor: underfloor.Spread{AreaM2: 1e300}, JackLive: 1e300, Continuity: 1},
		{Walls: []underfloor.Wall{{RunM: 1e300, HeightM: 1e300}}, Continuity: 1}, // infinity times nothing
	} {
		_, err := l.Sum()
		wantBad(t, err, "input")
	}
}
