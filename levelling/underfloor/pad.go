package underfloor

import "math"

// Pad is a footing under one support.
type Pad struct {
	LoadKN      float64
	SoilKPa     float64
	ThicknessMM *float64
	ConcreteKN  *float64 // kN/m³
}

// PadSize is how large it has to be: by area alone. Depth, frost, clay that
// moves, concrete and the ground it stands on are for the engineer and the local
// code.
type PadSize struct {
	AreaM2     float64
	SquareMM   float64 // side of a square one
	DiameterMM float64 // of a round one
	VolumeM3   *float64
}

// Size is A = P/q, with the pad's own weight taken off the soil value where its
// thickness and weight are given.
func (p Pad) Size() (PadSize, error) {
	err := first(need(above(p.LoadKN, 0), "load_kn", "the load on the pad in kN, above 0"),
		need(above(p.SoilKPa, 0), "soil_kpa", "what the ground carries in kPa, above 0"),
		need(p.ThicknessMM == nil || above(*p.ThicknessMM, 0), "thickness_mm", "the thickness of the pad in mm, above 0"),
		need(p.ConcreteKN == nil || above(*p.ConcreteKN, 0), "concrete_kn_m3", "the weight of concrete in kN per m³, above 0; about 24"))
	if err != nil {
		return PadSize{}, err
	}
	net := p.SoilKPa
	if p.ThicknessMM != nil && p.ConcreteKN != nil {
		net -= float64(*p.ConcreteKN * *p.ThicknessMM / 1000)
		if !(net > 0) {
			return PadSize{}, need(false, "thickness_mm", "a thinner pad: this one weighs as much as the ground carries")
		}
	}
	s := PadSize{AreaM2: p.LoadKN / net}
	s.SquareMM = math.Sqrt(s.AreaM2) * 1000
	s.DiameterMM = math.Sqrt(4*s.AreaM2/math.Pi) * 1000
	if p.ThicknessMM != nil {
		volume := s.AreaM2 * *p.ThicknessMM / 1000
		s.VolumeM3 = &volume
	}
	if !finite(s.AreaM2, s.SquareMM, s.DiameterMM) || (s.VolumeM3 != nil && !finite(*s.VolumeM3)) {
		return PadSize{}, errSize
	}
	return s, nil
}

// Bags is how many bags make a volume, each giving so much concrete.
func Bags(volumeM3, perBagM3 float64) int {
	if !above(volumeM3, 0) || !above(perBagM3, 0) {
		return 0
	}
	return int(math.Ceil(math.Min(volumeM3/perBagM3, 1e6)))
}

// Soil is what ground is presumed to carry where nobody tested it.
type Soil struct {
	Name   string
	KPa    float64 // 0: no value, an engineer
	Source string
}

const (
	irc = "IRC R401.4.1 (second-hand)"
	cfr = "24 CFR 3285.202, lower than IRC R401.4.1"
	psf = 0.04788 // kPa
)

var soils = []Soil{
	{"rock", 12000 * psf, irc},
	{"sedimentary rock", 4000 * psf, irc},
	{"gravel", 2000 * psf, cfr},
	{"sand", 1000 * psf, cfr},
	{"clay or silt", 1500 * psf, irc},
	{"fill, peat or organic", 0, "no published value: an engineer"},
}

// Soils lists presumptive values: of two published ones the lower.
func Soils() []Soil { return append([]Soil(nil), soils...) }
