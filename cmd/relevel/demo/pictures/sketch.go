package pictures

import "image"

// Sketch is a plan drawn by hand on squared paper: bearers as lines through their
// supports, in metres, with y up as on a plan.
type Sketch struct {
	House   string
	Bearers [][][2]float64
}

// How a sketch lies in its picture: so many pixels a metre, from its point of nought.
const (
	SketchScale = 110
	SketchLeft  = 130
	SketchFoot  = 590
)

func (s Sketch) caption() string { return s.House + ": measured on the first visit" }

func (s Sketch) paint(c *canvas) {
	c.flat(c.image.Rect, paper)
	for x := SketchLeft % (SketchScale / 2); x < width; x += SketchScale / 2 {
		c.line(x, 0, x, height, 1, dim(paper, 0.9))
	}
	for y := SketchFoot % (SketchScale / 2); y < height; y += SketchScale / 2 {
		c.line(0, y, width, y, 1, dim(paper, 0.9))
	}
	for _, supports := range s.Bearers {
		for i, at := range supports {
			x, y := sketched(at)
			if i > 0 {
				fromX, fromY := sketched(supports[i-1])
				c.line(fromX, fromY+int(3*c.speck(1)), x, y+int(3*c.speck(1)), 3, ink)
			}
			c.flat(image.Rect(x-9, y-9, x+9, y+9), ink)
		}
	}
}

func sketched(at [2]float64) (x, y int) {
	return SketchLeft + int(SketchScale*at[0]), SketchFoot - int(SketchScale*at[1])
}
