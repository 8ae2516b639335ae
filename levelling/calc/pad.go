package calc

import "relevel/levelling/underfloor"

var pad = calculator{
	name:  "pad",
	about: "how large a pad has to be for a load",
	help: `The area that load_kn needs on ground that carries soil_kpa, as a square and as a circle. With thickness_mm
there is a volume, and with concrete_kn_m3 too the pad's own weight comes off what the ground carries.`,
	example: `{"load_kn":12,"soil_kpa":100,"thickness_mm":300,"concrete_kn_m3":24}`,
	run:     runPad,
}

// padCaution is what an area does not tell; common practice.
const padCaution = "Area only: depth, frost or clay that moves, the concrete and the ground it stands on are for an engineer " +
	"and the local code, and the hole is usually inspected before it is filled. Without reinforcement a pad is at least " +
	"as thick as it stands out from the post. On fill, peat or organic ground there is no value: an engineer."

type padAnswer struct {
	Area     number  `json:"area_m2"`
	Square   number  `json:"square_mm"`
	Diameter number  `json:"diameter_mm"`
	Volume   *number `json:"volume_m3,omitempty"`
	Caution  string  `json:"caution"`
}

func runPad(in *object) (any, error) {
	p := underfloor.Pad{
		LoadKN:      in.number("load_kn", "the load on the pad in kN, above 0"),
		SoilKPa:     in.number("soil_kpa", "what the ground carries in kPa, above 0"),
		ThicknessMM: in.numberIf("thickness_mm", "the thickness of the pad in mm, above 0"),
		ConcreteKN:  in.numberIf("concrete_kn_m3", "the weight of concrete in kN per m³, above 0"),
	}
	if !in.ok() {
		return nil, nil
	}
	s, err := p.Size()
	if err != nil {
		return nil, err
	}
	return padAnswer{
		Area: ratio(s.AreaM2), Square: mm(s.SquareMM), Diameter: mm(s.DiameterMM),
		Volume: optional(s.VolumeM3, ratio), Caution: padCaution,
	}, nil
}
