package underfloor

import (
	"fmt"
	"math"
)

// VentRule is how much open area the airing of a floor is to have. Rules differ
// by up to ten times, so an answer always names its own.
type VentRule string

// The rules.
const (
	NCC2022 VentRule = "ncc-2022"
	NZE2    VentRule = "nz-e2"
	IRC     VentRule = "irc"
	UKC     VentRule = "uk-c"
)

// Airing is a floor and what lets air in below it.
type Airing struct {
	Rule     VentRule
	Zone     string // A, B or C: the climate zone of the NCC
	Sealed   bool   // the ground is covered
	WallM    float64
	FloorM2  float64
	VentsMM2 []float64
}

// Vents is what a rule asks and what there is, mm².
type Vents struct {
	Required float64
	Provided *float64
	Short    *float64 // 0 where there is enough
	Source   string
}

var nccPerM = map[string]float64{"A": 2000, "B": 4000, "C": 6000}

// Vents reckons by the rule of the floor.
func (a Airing) Vents() (Vents, error) {
	if err := a.check(); err != nil {
		return Vents{}, err
	}
	v := a.required()
	if a.VentsMM2 != nil {
		sum := 0.0
		for _, x := range a.VentsMM2 {
			sum += x
		}
		short := math.Max(0, v.Required-sum)
		v.Provided, v.Short = &sum, &short
		if !finite(sum, short) {
			return Vents{}, errSize
		}
	}
	if !finite(v.Required) {
		return Vents{}, errSize
	}
	return v, nil
}

func (a Airing) required() Vents {
	switch a.Rule {
	case NCC2022:
		per := nccPerM[a.Zone]
		if a.Sealed {
			per /= 2
		}
		return Vents{Required: per * a.WallM, Source: "NCC 2022 Housing Provisions 6.2.1a (read as NCC 2019 3.4.1)"}
	case NZE2:
		return Vents{Required: 3500 * a.FloorM2, Source: "NZ E2/AS1 and NZS 3604 6.14 (second-hand)"}
	case IRC:
		part := 150.0
		if a.Sealed {
			part = 1500
		}
		return Vents{Required: a.FloorM2 * 1e6 / part, Source: "IRC R408 (second-hand)"}
	}
	return Vents{Required: math.Max(1500*a.WallM, 500*a.FloorM2), Source: "UK Approved Document C (second-hand)"}
}

func (a Airing) check() error {
	_, zoned := nccPerM[a.Zone]
	err := first(
		need(a.Rule == NCC2022 || a.Rule == NZE2 || a.Rule == IRC || a.Rule == UKC, "rule", "one of ncc-2022, nz-e2, irc, uk-c"),
		need(zoned || (a.Zone == "" && a.Rule != NCC2022), "zone", "A, B or C: the climate zone, for ncc-2022"),
		need(atLeast(a.WallM, 0), "wall_m", "the length of outside wall in m, 0 or more"),
		need(atLeast(a.FloorM2, 0), "floor_m2", "the area of the floor in m², 0 or more"))
	for i, x := range a.VentsMM2 {
		err = first(err, need(atLeast(x, 0), fmt.Sprintf("vents_mm2[%d]", i), "the open area of the vent in mm², 0 or more"))
	}
	return err
}
