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

// Where the figures are published.
const (
	byPercent = "USDA Wood Handbook, Table 13-5, change per 1 % of moisture, given for 6 to 14 %"
	fromGreen = "USDA Wood Handbook, Table 4-3, straight line from green at 30 % to oven-dry"
	remember  = fromGreen + " (the figure from memory)"
)

// drying is what a species loses, as a part of its thickness.
type drying struct {
	by                 float64 // over so many % of moisture
	radial, tangential float64
	source             string
}

// species holds the change per 1 % of the hardwoods that packers are made of,
// and the shrinkage from green to oven-dry of the softwoods that are also wet
// when they are laid: the table of changes is for 6 to 14 % alone.
var species = map[string]drying{
	"white-oak":        {1, 0.00180, 0.00365, byPercent},
	"red-oak":          {1, 0.00158, 0.00369, byPercent},
	"douglas-fir":      {FibreSaturation, 0.048, 0.076, fromGreen}, // of the coast
	"western-redcedar": {FibreSaturation, 0.024, 0.050, fromGreen},
	"white-fir":        {FibreSaturation, 0.033, 0.070, fromGreen},
	"western-hemlock":  {FibreSaturation, 0.042, 0.078, remember},
	"loblolly-pine":    {FibreSaturation, 0.048, 0.074, remember},
	"sitka-spruce":     {FibreSaturation, 0.043, 0.075, remember},
}

// Species lists the species there are figures of, by alphabet.
func Species() []string {
	names := make([]string, 0, len(species))
	for name := range species {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// Shrinkage is the thickness in mm that a piece loses from one moisture to
// another, in % of its dry weight, and where the figure is published. It is
// negative where the piece swells, with the moisture rising. Above fibre
// saturation nothing changes. A species that is not listed has no figure, and is
// an InputError that lists those known.
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
	part := d.radial
	if grain == Tangential {
		part = d.tangential
	}
	dried := math.Min(fromPct, FibreSaturation) - math.Min(toPct, FibreSaturation)
	return thicknessMM * (part * dried / d.by), d.source, nil
}
