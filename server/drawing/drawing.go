// Package drawing draws a floor as a builder would: the plan to scale from its
// own coordinates, one support in section, and the line along a bearer. A state
// is drawn as what is physically there, and the remaining lift is written
// beside it.
//
// Drawings are SVG for inclusion in a page. They carry classes and no colours:
// the page's style sheet has the ink. All functions are pure.
package drawing

import (
	"math"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// Options say how a drawing is made. The zero value draws without links.
type Options struct {
	Units    levelling.Unit              // that lengths are written in; the zero value is millimetres
	Turn     int                         // quarter turns clockwise; a drawing is never mirrored
	Darkest  float64                     // mm to go at the end of the shading's scale; 0 takes the furthest of the job
	Lines    *LineScale                  // of string lines; nil takes what fits this drawing best
	Link     func(support string) string // where a tap on a support leads; "" draws no link
	Initials func(person events.ID) string
	Words    jobs.Words
	Round    Round // what the round under way says of supports
	Plain    bool  // keys are for somebody who knows no word of the trade
}

func (o Options) link(support string) string {
	if o.Link == nil {
		return ""
	}
	return o.Link(support)
}

func (o Options) initials(person events.ID) string {
	if o.Initials == nil {
		return ""
	}
	return o.Initials(person)
}

// point is a place on the drawing, in px from its top left.
type point struct{ x, y float64 }

func (p point) plus(x, y float64) point { return point{p.x + x, p.y + y} }

// towards returns the unit vector from p to q, or a step to the right where
// the two are one place.
func (p point) towards(q point) point {
	dx, dy := q.x-p.x, q.y-p.y
	d := math.Hypot(dx, dy)
	if d < 1e-9 {
		return point{1, 0}
	}
	return point{dx / d, dy / d}
}

// box is an upright rectangle on the drawing.
type box struct{ x0, y0, x1, y1 float64 }

func (b box) wide() float64 { return b.x1 - b.x0 }
func (b box) high() float64 { return b.y1 - b.y0 }

func (b box) with(o box) box {
	return box{min(b.x0, o.x0), min(b.y0, o.y0), max(b.x1, o.x1), max(b.y1, o.y1)}
}

func (b box) grown(by float64) box {
	return box{b.x0 - by, b.y0 - by, b.x1 + by, b.y1 + by}
}

// common is the area two boxes share.
func (b box) common(o box) float64 {
	w, h := min(b.x1, o.x1)-max(b.x0, o.x0), min(b.y1, o.y1)-max(b.y0, o.y0)
	if w <= 0 || h <= 0 {
		return 0
	}
	return w * h
}

// withSD writes a height with its standard deviation.
func (c *canvas) withSD(f jobs.Figure) string {
	return strings.TrimSpace(c.units.Show(f.MM) + " " + c.units.ShowSD(f.SD))
}

// unitName is the unit under a scale of figures.
func unitName(u levelling.Unit) string {
	switch u {
	case levelling.Inch, levelling.Foot:
		return string(u)
	}
	return string(levelling.Millimetre)
}
