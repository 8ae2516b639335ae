package calc

import "relevel/levelling"

var peg = calculator{
	name:  "peg",
	about: "the error of a level or laser by a two-peg check",
	help: `mid holds the staffs on two pegs A and B read from midway between them, off the same staffs read from
another place, to_a_m and to_b_m away. A staff held upside down reads negative. error_mm_per_m is what a
staff reads too much for each metre of sight: positive, the line points up. corrected_a_mm and
corrected_b_mm are what off would read on a level line. A check shows nothing from a second place that is
as far from A as from B.`,
	example: `{"mid":{"a_mm":2000,"b_mm":3000},"off":{"a_mm":1500,"b_mm":2750,"to_a_m":120,"to_b_m":20}}`,
	run:     runPeg,
}

type pegAnswer struct {
	Error      number `json:"error_mm_per_m"`
	CorrectedA number `json:"corrected_a_mm"`
	CorrectedB number `json:"corrected_b_mm"`
}

func runPeg(in *object) (any, error) {
	const staff, distance = "the reading of the staff in mm", "its distance from the instrument in m, 0 or more"
	mid := in.object("mid", "the readings from midway")
	off := in.object("off", "the readings from another place, with the distances")
	check := levelling.PegCheck{
		MidA: mid.number("a_mm", staff), MidB: mid.number("b_mm", staff),
		OffA: off.number("a_mm", staff), OffB: off.number("b_mm", staff),
		ToA: off.number("to_a_m", distance), ToB: off.number("to_b_m", distance),
	}
	if !in.ok() {
		return nil, nil
	}
	e, err := check.Error()
	if err != nil {
		return nil, err
	}
	return pegAnswer{mm(e.PerMetre), mm(e.CorrectedA), mm(e.CorrectedB)}, nil
}
