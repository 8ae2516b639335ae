package calc

import "relevel/levelling/underfloor"

var jack = calculator{
	name:  "jack",
	about: "the force of a jack by its gauge",
	help: `pressure_mpa on a ram of bore_mm. A gauge is worth about a tenth either way: low_kn to high_kn. over_rating
says that the force may be past rated_kn, which is to say that high_kn is.`,
	example: `{"bore_mm":50,"pressure_mpa":20,"rated_kn":49}`,
	run:     runJack,
}

// jackCaution is 29 CFR 1926.305 in short; how good a gauge is, is common practice.
const jackCaution = "Within about a tenth, read while the ram rises, and over the rating as soon as it may be. " +
	"The marked capacity is never exceeded, the base is blocked where it is not firm, wood lies between cap and load, " +
	"and what is raised is blocked at once (29 CFR 1926.305). Never rely on a jack alone above a person. Local law decides."

type jackAnswer struct {
	Force      number `json:"force_kn"`
	Low        number `json:"low_kn"`
	High       number `json:"high_kn"`
	OverRating *bool  `json:"over_rating,omitempty"`
	Caution    string `json:"caution"`
}

func runJack(in *object) (any, error) {
	j := underfloor.Jack{
		BoreMM:      in.number("bore_mm", "the bore of the ram in mm, above 0"),
		PressureMPa: in.number("pressure_mpa", "what the gauge shows in MPa, 0 or more"),
		RatedKN:     in.numberIf("rated_kn", "what the jack is marked with in kN, above 0"),
	}
	if !in.ok() {
		return nil, nil
	}
	p, err := j.Push()
	if err != nil {
		return nil, err
	}
	return jackAnswer{kN(p.ForceKN), kN(p.LowKN), kN(p.HighKN), p.OverRating, jackCaution}, nil
}
