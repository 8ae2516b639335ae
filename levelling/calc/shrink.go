package calc

import "relevel/levelling/underfloor"

var shrink = calculator{
	name:  "shrink",
	about: "the thickness that a packer loses by drying",
	help: `loss_mm is what thickness_mm loses from from_pct to to_pct moisture, negative where that rises and it swells.
grain is radial, across the growth rings, as a flat-sawn piece laid flat loses thickness, or tangential,
along them. By the change per 1 % where there is a figure for the species, else by the straight line from
green: above 30 % nothing changes. A species that is not listed has no figure.`,
	example: `{"thickness_mm":50,"species":"douglas-fir","grain":"radial","from_pct":19,"to_pct":12}`,
	run:     runShrink,
}

type shrinkAnswer struct {
	Loss   number `json:"loss_mm"`
	Source string `json:"source"`
}

func runShrink(in *object) (any, error) {
	thickness := in.number("thickness_mm", "the thickness of the piece in mm, above 0")
	species := in.choice("species", underfloor.Species()...)
	grain := in.choice("grain", string(underfloor.Radial), string(underfloor.Tangential))
	from := in.number("from_pct", "the moisture to begin with in %, 0 or more")
	to := in.number("to_pct", "the moisture in the end in %, 0 or more")
	if !in.ok() {
		return nil, nil
	}
	loss, source, err := underfloor.Shrinkage(thickness, species, underfloor.Grain(grain), from, to)
	if err != nil {
		return nil, err
	}
	return shrinkAnswer{mm(loss), source}, nil
}
