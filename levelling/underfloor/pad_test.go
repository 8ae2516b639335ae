package underfloor_test

import (
	"math"
	"strings"
	"testing"

	"relevel/levelling/underfloor"
)

// A = P/q, computed: 12 kN and 8 kN at 100 kPa.
func TestPad(t *testing.T) {
	for load, want := range map[float64][2]float64{12: {346, 391}, 8: {283, 319}} {
		s, err := underfloor.Pad{LoadKN: load, SoilKPa: 100}.Size()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "area", s.AreaM2, load/100, 1e-12)
		near(t, "square", s.SquareMM, want[0], 0.5)
		near(t, "diameter", s.DiameterMM, want[1], 0.5)
		if s.VolumeM3 != nil {
			t.Error("a volume without a thickness")
		}
	}
}

// 24 CFR 3285.312, read: on 1 000 psf a pad 6 in thick carries 3 700 lb at 24 in
// square and 2 600 lb at 20, which is A·(q − 150·t/12) to the nearest hundred.
func TestPadOwnWeight(t *testing.T) {
	for side, pounds := range map[float64]float64{24: 3700, 20: 2600} {
		p := underfloor.Pad{SoilKPa: psf(1000), ThicknessMM: ptr(6 * inch), ConcreteKN: ptr(150 / lbPerKN / (foot * foot * foot))}
		p.LoadKN = (pounds - 50) / lbPerKN
		under, err := p.Size()
		if err != nil {
			t.Fatal(err)
		}
		p.LoadKN = (pounds + 50) / lbPerKN
		over, err := p.Size()
		if err != nil {
			t.Fatal(err)
		}
		if mm := side * inch; !(under.SquareMM <= mm && mm <= over.SquareMM) {
			t.Errorf("%g in, which the table has for %g lb, is not from %.1f to %.1f mm", side, pounds, under.SquareMM, over.SquareMM)
		}
		near(t, "volume", *under.VolumeM3, under.AreaM2*6*inch/1000, 1e-12)
	}
}

// The pad's weight counts where both its thickness and weight are given.
func TestPadWeightNeedsBoth(t *testing.T) {
	for _, p := range []underfloor.Pad{
		{LoadKN: 12, SoilKPa: 100, ThicknessMM: ptr(300)},
		{LoadKN: 12, SoilKPa: 100, ConcreteKN: ptr(24)},
	} {
		s, err := p.Size()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "area", s.AreaM2, 0.12, 1e-12)
		if (s.VolumeM3 != nil) != (p.ThicknessMM != nil) {
			t.Errorf("volume %v", s.VolumeM3)
		}
	}
}

func TestPadBad(t *testing.T) {
	fields := map[string]func(*underfloor.Pad, float64){
		"load_kn":        func(p *underfloor.Pad, x float64) { p.LoadKN = x },
		"soil_kpa":       func(p *underfloor.Pad, x float64) { p.SoilKPa = x },
		"thickness_mm":   func(p *underfloor.Pad, x float64) { p.ThicknessMM = &x },
		"concrete_kn_m3": func(p *underfloor.Pad, x float64) { p.ConcreteKN = &x },
	}
	for field, set := range fields {
		for _, x := range append([]float64{0}, odd...) {
			p := underfloor.Pad{LoadKN: 12, SoilKPa: 100, ThicknessMM: ptr(300), ConcreteKN: ptr(24)}
			set(&p, x)
			_, err := p.Size()
			wantBad(t, err, field)
		}
	}
}

// A pad that weighs what the ground carries, or more, has no size.
func TestPadTooHeavy(t *testing.T) {
	for _, thickness := range []float64{300, 301, 1e300, 1e308} {
		_, err := underfloor.Pad{LoadKN: 1, SoilKPa: 7.2, ThicknessMM: &thickness, ConcreteKN: ptr(24)}.Size()
		wantBad(t, err, "thickness_mm")
	}
	_, err := underfloor.Pad{LoadKN: 1, SoilKPa: 0.3, ThicknessMM: ptr(100), ConcreteKN: ptr(3)}.Size() // 0.30000000000000004
	wantBad(t, err, "thickness_mm")
	_, err = underfloor.Pad{LoadKN: 1e300, SoilKPa: 1e-300}.Size()
	wantBad(t, err, "input")
}

func TestBags(t *testing.T) {
	tests := []struct {
		volume, bag float64
		want        int
	}{
		{0.036, 0.01, 4},
		{0.07, 0.01, 7}, // 7.000000000000001 in floats
		{0.0701, 0.01, 8},
		{1e-12, 0.01, 1},
		{0.036, 0, 0}, // nobody knows what a bag gives
		{0, 0.01, 0},
		{math.NaN(), 0.01, 0},
		{math.Inf(1), 0.01, 0},
		{1e300, 1e-300, 1_000_000},
	}
	for _, tt := range tests {
		if got := underfloor.Bags(tt.volume, tt.bag); got != tt.want {
			t.Errorf("%g m³ of bags of %g: %d, want %d", tt.volume, tt.bag, got, tt.want)
		}
	}
}

// IRC R401.4.1 (second-hand) and 24 CFR 3285.202 (read), psf: the lower stands,
// and what is filled, peaty or organic has none.
func TestSoils(t *testing.T) {
	irc := map[string]float64{"rock": 12000, "gravel": 3000, "sand": 2000, "clay": 1500}
	last := math.Inf(1)
	for _, soil := range underfloor.Soils() {
		kind, _, _ := strings.Cut(strings.ReplaceAll(soil.Name, ",", ""), " ")
		if most, known := irc[kind]; soil.Source == "" || known != (soil.KPa > 0) || soil.KPa > psf(most)+0.01 {
			t.Errorf("%+v", soil)
		}
		last = math.Min(last, soil.KPa)
	}
	if last != 0 {
		t.Error("fill, peat and organic ground are missing")
	}
	want := map[string]float64{"rock": 4000, "gravel": 2000, "sand, medium dense": 1500, "sand, loose": 1000, "clay or silt, very stiff": 1500}
	for _, soil := range underfloor.Soils() {
		if value, read := want[soil.Name]; read {
			near(t, soil.Name, soil.KPa, psf(value), 0.05)
			delete(want, soil.Name)
		}
	}
	if len(want) > 0 {
		t.Errorf("missing: %v", want)
	}
}
