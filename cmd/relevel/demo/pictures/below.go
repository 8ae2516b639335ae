package pictures

import (
	"fmt"
	"image"
)

// Gap is a support and its bearer from the side, with what lies between them.
type Gap struct {
	Support string
	GapMM   float64
	Final   bool // one solid packer; otherwise loose pieces, or nothing
	Loose   bool
	Jack    bool // a jack stands beside it
	Fixed   bool // a strap holds bearer and stump together
}

func (g Gap) caption() string {
	switch {
	case g.Fixed:
		return fmt.Sprintf("%s: packer %.0f mm, fixed", g.Support, g.GapMM)
	case g.Final:
		return fmt.Sprintf("%s: one packer, %.0f mm", g.Support, g.GapMM)
	case g.Loose:
		return fmt.Sprintf("%s: temporary packing, %.0f mm", g.Support, g.GapMM)
	}
	return fmt.Sprintf("%s: gap %.0f mm", g.Support, g.GapMM)
}

// pixelsPerMM is the scale of the gap.
const pixelsPerMM = 3

func (g Gap) paint(c *canvas) {
	c.gloom()
	joists(c)
	bearerFoot := 300
	c.grain(image.Rect(0, 150, width, bearerFoot), hardwood, false)
	stumpTop := bearerFoot + int(g.GapMM*pixelsPerMM)
	c.grain(image.Rect(400, stumpTop, 560, 650), oldTimber, true)
	g.paintPacking(c, bearerFoot, stumpTop)
	if g.Jack {
		jack(c, 690, bearerFoot)
	}
	if g.Fixed {
		c.flat(image.Rect(466, 200, 494, stumpTop+120), steel)
		c.flat(image.Rect(474, 220, 486, 232), dark)
		c.flat(image.Rect(474, stumpTop+80, 486, stumpTop+92), dark)
	}
	ruler(c, 330, bearerFoot, stumpTop)
	c.note(fmt.Sprintf("%.0f mm", g.GapMM), 190, (bearerFoot+stumpTop)/2+10)
}

func (g Gap) paintPacking(c *canvas, top, foot int) {
	switch {
	case g.Final:
		c.grain(image.Rect(392, top, 568, foot), newTimber, false)
	case g.Loose:
		for y, left := top, 400; y < foot; y += 14 {
			left = 396 + c.rand.IntN(20)
			c.grain(image.Rect(left, y, left+130+c.rand.IntN(24), min(y+13, foot)), newTimber, false)
		}
	}
}

// Stump is a support with a fault.
type Stump struct {
	Support, Fault string
	Lean           int // pixels that its top stands off its foot
	Wet            bool
}

func (s Stump) caption() string { return s.Support + ": " + s.Fault }

func (s Stump) paint(c *canvas) {
	c.gloom()
	joists(c)
	c.grain(image.Rect(0, 150, width, 290), hardwood, false)
	stump := c.fibres(oldTimber, true)
	for y := 292; y < 640; y++ {
		x := 400 + s.Lean*(640-y)/340
		c.fill(image.Rect(x, y, x+160, y+1), stump)
	}
	if s.Wet {
		c.rough(image.Rect(240, 560, 760, 650), dim(earth, 0.6), 0.12)
		for x := 420; x < 560; x += 24 {
			c.line(x, 520+c.rand.IntN(40), x+c.speckle(8), 640, 5, dim(oldTimber, 0.5))
		}
	}
	c.note(s.Fault, 600, 420)
}

func (c *canvas) speckle(n int) int { return c.rand.IntN(2*n+1) - n }

// Blocking is crossed timbers that carry a bearer while its support is away.
type Blocking struct{ Support, Place string }

func (b Blocking) caption() string { return b.Support + " out, on blocking " + b.Place }

func (b Blocking) paint(c *canvas) {
	c.gloom()
	joists(c)
	c.grain(image.Rect(0, 150, width, 290), hardwood, false)
	for layer, y := 0, 290; y < 630; layer, y = layer+1, y+68 {
		if layer%2 == 0 {
			c.grain(image.Rect(560, y, 860, y+68), newTimber, false)
			continue
		}
		for _, x := range []int{575, 775} {
			c.rough(image.Rect(x, y, x+70, y+68), dim(newTimber, 0.85), 0.06)
			c.outline(image.Rect(x, y, x+70, y+68))
		}
	}
	c.rough(image.Rect(210, 560, 420, 656), dim(earth, 0.45), 0.2)
	c.note("stump out", 230, 540)
}

// Pad is a hole dug for a new pad, or the pad poured in it.
type Pad struct {
	Support string
	Poured  bool
}

func (p Pad) caption() string {
	if p.Poured {
		return p.Support + ": new pad poured"
	}
	return p.Support + ": dug for a new pad"
}

func (p Pad) paint(c *canvas) {
	c.rough(c.image.Rect, earth, 0.25)
	hole := image.Rect(250, 140, 710, 580)
	c.rough(hole, dim(earth, 0.45), 0.2)
	if p.Poured {
		c.rough(hole.Inset(24), concrete, 0.08)
		c.note("450 x 450", 400, 370)
	}
	c.outline(hole)
	ruler(c, 200, 140, 580)
}

// joists are the ends of the joists over a bearer, and the boards on them.
func joists(c *canvas) {
	c.grain(image.Rect(0, 0, width, 34), newTimber, false)
	for x := 60; x < width; x += 270 {
		c.grain(image.Rect(x, 34, x+80, 150), hardwood, true)
	}
}

func jack(c *canvas, x, top int) {
	c.flat(image.Rect(x-14, top, x+34, top+14), steel)
	c.flat(image.Rect(x, top+14, x+20, 460), dim(steel, 1.4))
	c.flat(image.Rect(x-26, 460, x+46, 590), dim(steel, 0.8))
	c.flat(image.Rect(x-44, 590, x+64, 610), steel)
	c.grain(image.Rect(x-90, 610, x+110, 650), newTimber, false)
}

// ruler stands a rule beside what is measured, a mark every five millimetres.
func ruler(c *canvas, x, top, foot int) {
	c.flat(image.Rect(x, top-40, x+44, foot+40), paper)
	for i, y := 0, top; y <= foot; i, y = i+1, y+5*pixelsPerMM {
		length := 14
		if i%2 == 0 {
			length = 26
		}
		c.flat(image.Rect(x, y, x+length, y+2), ink)
	}
}
