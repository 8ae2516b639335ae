package underfloor

import (
	"fmt"
	"math"
)

// FloorCut is a cut across floor boards over a joist, so that what is taken up
// can be laid back. Lengths are mm.
type FloorCut struct {
	Board     float64 // thickness of the boards, above 0
	Joist     float64 // width of the joist's top, above 0
	Kerf      float64 // width that the saw takes out, 0 or more
	OffCentre float64 // middle of the cut from the middle of the joist, positive to the right
}

// CutEdges is what a floor cut leaves, in mm.
type CutEdges struct {
	SawDepth float64 // set the saw no deeper than this
	Left     float64 // bearing of the boards left of the cut on the joist
	Right    float64 // and of those right of it
}

// Edges returns the depth of the saw and the bearing that is left on each side.
// A kerf that runs over an edge of the joist leaves that side none, 0; one that
// misses the joist, or takes all of its width, is bad input. Errors are
// InputErrors by the fields of the calculator: board_mm and so on.
func (c FloorCut) Edges() (CutEdges, error) {
	if err := c.check(); err != nil {
		return CutEdges{}, err
	}
	side := float64(c.Joist/2) - float64(c.Kerf/2) // what a cut on the centre leaves
	return CutEdges{
		SawDepth: c.Board,
		Left:     math.Max(0, side+c.OffCentre),
		Right:    math.Max(0, side-c.OffCentre),
	}, nil
}

func (c FloorCut) check() error {
	err := first(
		need(above(c.Board, 0), "board_mm", "the thickness of the board in mm, above 0"),
		need(above(c.Joist, 0), "joist_mm", "the width of the joist's top in mm, above 0"),
		need(atLeast(c.Kerf, 0), "kerf_mm", "the width of the saw's cut in mm, 0 or more"),
		need(c.Kerf < c.Joist, "kerf_mm", "less than the width of the joist: nothing is left to bear on"))
	if err != nil {
		return err
	}
	miss := float64(c.Joist/2) + float64(c.Kerf/2)
	return need(math.Abs(c.OffCentre) < miss, "off_centre_mm",
		fmt.Sprintf("less than %g mm to either side: beyond that the cut misses the joist", miss))
}
