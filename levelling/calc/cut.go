package calc

import "relevel/levelling/underfloor"

var cut = calculator{
	name:  "cut",
	about: "what a floor cut over a joist leaves",
	help: `For a cut across boards of board_mm over a joist joist_mm wide, by a saw that takes out kerf_mm:
the depth to set the saw to, no deeper than, and the bearing left on the joist on each side.
off_centre_mm is how far the cut lies from the middle of the joist, positive to the right and 0 when
left out. A side on which the cut runs over the edge of the joist has bearing 0 and needs a cleat; a
cut that misses the joist is refused.`,
	example: `{"board_mm":19,"joist_mm":45,"kerf_mm":3}`,
	run:     runCut,
}

// cutCaution defers to what is found under the boards; common practice.
const cutCaution = "Saw no deeper than the board, and lift or drill one board first: layers vary, cables and pipes may lie " +
	"in the joist tops, sheet flooring may brace the house, vinyl and its glue may hold asbestos. " +
	"A cut beside a joist with a cleat is an equal choice. Local codes decide."

// cleatCaution goes before it when a side bears on nothing.
const cleatCaution = "One side has no bearing on the joist: fix a cleat before anybody stands there. "

type cutAnswer struct {
	SawDepth     number `json:"saw_depth_mm"`
	BearingLeft  number `json:"bearing_left_mm"`
	BearingRight number `json:"bearing_right_mm"`
	Caution      string `json:"caution"`
}

func runCut(in *object) (any, error) {
	c := underfloor.FloorCut{
		Board:     in.number("board_mm", "the thickness of the board in mm, above 0"),
		Joist:     in.number("joist_mm", "the width of the joist's top in mm, above 0"),
		Kerf:      in.number("kerf_mm", "the width of the saw's cut in mm, 0 or more"),
		OffCentre: in.numberOr("off_centre_mm", 0, "the cut from the middle of the joist in mm, positive to the right"),
	}
	if !in.ok() {
		return nil, nil
	}
	e, err := c.Edges()
	if err != nil {
		return nil, err
	}
	caution := cutCaution
	if e.Left == 0 || e.Right == 0 {
		caution = cleatCaution + cutCaution
	}
	return cutAnswer{mm(e.SawDepth), mm(e.Left), mm(e.Right), caution}, nil
}
