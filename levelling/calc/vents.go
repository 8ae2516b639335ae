package calc

import "relevel/levelling/underfloor"

var vents = calculator{
	name:  "vents",
	about: "how much open area the airing of a floor wants",
	help: `By the rule asked for: ncc-2022 goes by metres of outside wall and climate zone A, B or C, nz-e2 and irc by
the area of the floor, uk-c by the greater of both. sealed says that the ground is covered, for which
ncc-2022 and irc ask less; the others take no notice of it, nor any but ncc-2022 of a zone. vents_mm2 are
the open areas of the vents there are; short_mm2 is what is lacking. Rules differ by up to ten times.`,
	example: `{"rule":"ncc-2022","zone":"C","wall_m":30,"floor_m2":50,"vents_mm2":[9000,9000,4500]}`,
	run:     runVents,
}

type ventsAnswer struct {
	Required number  `json:"required_mm2"`
	Provided *number `json:"provided_mm2,omitempty"`
	Short    *number `json:"short_mm2,omitempty"`
	Source   string  `json:"source"`
}

func runVents(in *object) (any, error) {
	a := underfloor.Airing{
		Rule: underfloor.VentRule(in.choice("rule", string(underfloor.NCC2022), string(underfloor.NZE2),
			string(underfloor.IRC), string(underfloor.UKC))),
		Zone:     in.textIf("zone", "A, B or C: the climate zone, for ncc-2022"),
		Sealed:   in.flag("sealed", "whether the ground is covered"),
		WallM:    in.number("wall_m", "the length of outside wall in m, 0 or more"),
		FloorM2:  in.number("floor_m2", "the area of the floor in m², 0 or more"),
		VentsMM2: in.numbersIf("vents_mm2", "the open area of each vent in mm², 0 or more"),
	}
	if !in.ok() {
		return nil, nil
	}
	v, err := a.Vents()
	if err != nil {
		return nil, err
	}
	return ventsAnswer{mm(v.Required), optional(v.Provided, mm), optional(v.Short, mm), v.Source}, nil
}
