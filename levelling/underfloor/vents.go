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
	Zone     string // A, B or C, the climate zone of the NCC; the other rules have none and take no notice
	Sealed   bool   // the ground is covered: the NCC and the IRC ask for less, the others take no notice
	WallM    float64
	FloorM2  float64
	VentsMM2 []float64 // nil: nobody counted them
}

// Vents is what a rule asks and what there is, mm².
type Vents struct {
	Required float64
	Provided *float64 // nil where nobody counted
	Short    *float64 // 0 where there is enough
	Source   string
}

// perWallM is what the NCC asks for each metre of wall, mm², by its zone. Over
// sealed ground it is half.
var perWallM = map[string]float64{"A": 2000, "B": 4000, "C": 6000}

// Vents reckons by the rule of the floor.
func (a Airing) Vents() (Vents, error) {
	if err := a.check(); err != nil {
		return Vents{}, err
	}
	v := Vents{}
	v.Required, v.Source = a.required()
	sum := 0.0
	for _, x := range a.VentsMM2 {
		sum += x
	}
	if !finite(v.Required, sum) {
		return Vents{}, errSize
	}
	if a.VentsMM2 != nil {
		short := math.Max(0, v.Required-sum)
		v.Provided, v.Short = &sum, &short
	}
	return v, nil
}

func (a Airing) required() (mm2 float64, source string) {
	switch a.Rule {
	case NCC2022:
		per := perWallM[a.Zone]
		if a.Sealed {
			per /= 2
		}
		return per * a.WallM, "NCC 2022 Housing Provisions 6.2.1a (read as NCC 2019 3.4.1)"
	case NZE2:
		return 3500 * a.FloorM2, "NZ E2/AS1 and NZS 3604 6.14 (second-hand)"
	case IRC:
		part := 150.0
		if a.Sealed {
			part = 1500
		}
		return a.FloorM2 / part * 1e6, "IRC R408 (second-hand)"
	}
	return math.Max(1500*a.WallM, 500*a.FloorM2), "UK Approved Document C (second-hand)"
}

func (a Airing) check() error {
	_, zoned := perWallM[a.Zone]
	err := first(
		need(a.Rule == NCC2022 || a.Rule == NZE2 || a.Rule == IRC || a.Rule == UKC, "rule", "one of ncc-2022, nz-e2, irc, uk-c"),
		need(zoned || (a.Zone == "" && a.Rule != NCC2022), "zone", "A, B or C: the climate zone, for ncc-2022"),
		need(atLeast(a.WallM, 0), "wall_m", "the length of outside wall in m, 0 or more"),
		need(atLeast(a.FloorM2, 0), "floor_m2", "the area of the floor in m², 0 or more"))
	for i, x := range a.VentsMM2 {
		if err == nil && !atLeast(x, 0) {
			return need(false, fmt.Sprintf("vents_mm2[%d]", i), "the open area of the vent in mm², 0 or more")
		}
	}
	return err
}
