package calc

import "relevel/levelling/underfloor"

var crack = calculator{
	name:  "crack",
	about: "the class of a crack by its width",
	help: `width_mm is the width of the crack at its widest. The answer is the width class of BRE Digest 251, 0 to 5:
below 0.1 mm class 0, then 1 as far as 1 mm, 2 to 5, 3 to 15, 4 to 25 and 5 beyond. Width is one factor:
ease of repair and what the wall is for decide, so quote it as a width class with its source.`,
	example: `{"width_mm":2.5}`,
	run:     runCrack,
}

type crackAnswer struct {
	Class  int    `json:"class"`
	Source string `json:"source"`
}

func runCrack(in *object) (any, error) {
	width := in.number("width_mm", "the width of the crack in mm, 0 or more")
	if !in.ok() {
		return nil, nil
	}
	class, err := underfloor.CrackClass(width)
	if err != nil {
		return nil, err
	}
	return crackAnswer{class, underfloor.CrackSource}, nil
}
