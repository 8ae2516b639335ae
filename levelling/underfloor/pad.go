package underfloor

import (
	"math"

	"relevel/levelling"
)

// Pad is a footing under one support.
type Pad struct {
	LoadKN      float64
	SoilKPa     float64  // what the ground carries
	ThicknessMM *float64 // nil: nobody said
	ConcreteKN  *float64 // weight, kN/m³; nil: it counts for nothing
}

// PadSize is how large it has to be by area alone. Depth, frost, clay that
// moves, concrete and the ground it stands on are for the engineer and the local
// code.
type PadSize struct {
	AreaM2     float64
	SquareMM   float64  // side of a square one
	DiameterMM float64  // of a round one
	VolumeM3   *float64 // nil without a thickness
}

// Size is A = P/q. Where thickness and weight are given q is what the ground
// carries less the pad itself, q − γt.
func (p Pad) Size() (PadSize, error) {
	if err := p.check(); err != nil {
		return PadSize{}, err
	}
	const left = 1e-9 // of what the ground carries; below it is what rounding left
	net := p.net()
	if !(net > left*p.SoilKPa) {
		return PadSize{}, levelling.Bad("thickness_mm", "a thinner pad: this one weighs as much as the ground carries")
	}
	s := PadSize{AreaM2: p.LoadKN / net}
	s.SquareMM = math.Sqrt(s.AreaM2) * 1000
	s.DiameterMM = math.Sqrt(4*s.AreaM2/math.Pi) * 1000
	volume := 0.0
	if p.ThicknessMM != nil {
		volume = s.AreaM2 * (*p.ThicknessMM / 1000)
		s.VolumeM3 = &volume
	}
	if !finite(s.AreaM2, s.SquareMM, s.DiameterMM, volume) {
		return PadSize{}, errSize
	}
	return s, nil
}

// net is what the ground carries beside the pad, kPa.
func (p Pad) net() float64 {
	if p.ThicknessMM == nil || p.ConcreteKN == nil {
		return p.SoilKPa
	}
	return p.SoilKPa - float64(*p.ConcreteKN**p.ThicknessMM/1000)
}

func (p Pad) check() error {
	return first(
		need(above(p.LoadKN, 0), "load_kn", "the load on the pad in kN, above 0"),
		need(above(p.SoilKPa, 0), "soil_kpa", "what the ground carries in kPa, above 0"),
		need(p.ThicknessMM == nil || above(*p.ThicknessMM, 0), "thickness_mm", "the thickness of the pad in mm, above 0"),
		need(p.ConcreteKN == nil || above(*p.ConcreteKN, 0), "concrete_kn_m3", "the weight of concrete in kN per m³, above 0; about 24"))
}

// mostBags is a bound for a number of bags, which no pad comes near.
const mostBags = 1_000_000

// Bags is how many bags make a volume, each giving so much concrete by what is
// printed on it; 0 where either is not known.
func Bags(volumeM3, perBagM3 float64) int {
	if !above(volumeM3, 0) || !above(perBagM3, 0) {
		return 0
	}
	const full = 1e-9 // of a bag: 0.07 of 0.01 is seven, not eight
	return int(math.Max(1, math.Ceil(math.Min(volumeM3/perBagM3, mostBags)-full)))
}
