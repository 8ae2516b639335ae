package underfloor

import (
	"math"
	"slices"
	"strings"
)

// Grain is how the growth rings lie in a piece: radial across them, as a
// flat-sawn piece laid flat loses thickness, or tangential along them.
type Grain string

// The grains.
const (
	Radial     Grain = "radial"
	Tangential Grain = "tangential"
)

// FibreSaturation is the moisture in % above which timber neither shrinks nor
// swells (USDA Wood Handbook).
const FibreSaturation = 30.0

const (
	handbook  = "USDA Wood Handbook, change per 1 % of moisture"
	fromGreen = "USDA Wood Handbook, straight line from green to oven-dry"
)

// drying is what a species loses. perPct is per 1 % of moisture, 0 where there
// is none; green is from green to oven-dry.
type drying struct {
	perPct, green map[Grain]float64
}

// species holds the coefficients per 1 % as read (structure.md §3) and
// Douglas-fir's shrinkage from green, radial, as its example has it. The other
// shrinkages from green are of the Wood Handbook's table, from memory.
var species = map[string]drying{
	"white-oak":       {perPct: map[Grain]float64{Radial: 0.00180, Tangential: 0.00365}},
	"red-oak":         {perPct: map[Grain]float64{Radial: 0.00158, Tangential: 0.00369}},
	"douglas-fir":     {green: map[Grain]float64{Radial: 0.048, Tangential: 0.076}},
	"western-hemlock": {green: map[Grain]float64{Radial: 0.042, Tangential: 0.078}},
	"loblolly-pine":   {green: map[Grain]float64{Radial: 0.048, Tangential: 0.074}},
	"white-spruce":    {green: map[Grain]float64{Radial: 0.047, Tangential: 0.082}},
}

// Species lists the species there are figures of.
func Species() []string {
	names := make([]string, 0, len(species))
	for name := range species {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// Shrinkage is the thickness in mm that a piece loses from one moisture to
// another, in % of its dry weight; negative where it swells. Above fibre
// saturation nothing changes.
func Shrinkage(thicknessMM float64, kind string, grain Grain, fromPct, toPct float64) (lossMM float64, source string, err error) {
	d, known := species[kind]
	err = first(
		need(above(thicknessMM, 0), "thickness_mm", "the thickness of the piece in mm, above 0"),
		need(known, "species", "one of "+strings.Join(Species(), ", ")+"; there are no figures of another"),
		need(grain == Radial || grain == Tangential, "grain", "radial or tangential"),
		need(atLeast(fromPct, 0), "from_pct", "the moisture to begin with in %, 0 or more"),
		need(atLeast(toPct, 0), "to_pct", "the moisture in the end in %, 0 or more"))
	if err != nil {
		return 0, "", err
	}
	by := math.Min(fromPct, FibreSaturation) - math.Min(toPct, FibreSaturation)
	per, source := d.green[grain]/FibreSaturation, fromGreen
	if c, has := d.perPct[grain]; has {
		per, source = c, handbook
	}
	lossMM = thicknessMM * per * by
	if !finite(lossMM) {
		return 0, "", errSize
	}
	return lossMM, source, nil
}
