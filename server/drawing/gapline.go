package drawing

import (
	"math"
	"time"

	"relevel/jobs"
	"relevel/levelling"
)

// Sizes of the line of a gap, in px at full size.
const (
	gapWide   = 320.0
	gapHigh   = 96.0
	gapLeft   = 44.0 // for the figures of its scale
	gapRight  = 64.0 // for the last figure
	gapTop    = 18.0
	gapBottom = 24.0
)

// GapLine draws how wide a crack or gap was over time, against the width at which
// somebody is to be told. Width has its nought at the foot, so that a line twice as
// high is a crack twice as wide. It is "" for fewer than two readings. Widths are
// written in a unit.
func GapLine(w jobs.WatchedGap, zone *time.Location, units levelling.Unit) string {
	if len(w.Readings) < 2 {
		return ""
	}
	d := gapLine{WatchedGap: w, first: w.Readings[0].At}
	for _, r := range w.Readings {
		d.most = max(d.most, r.MM)
	}
	if w.LimitMM != nil {
		d.most = max(d.most, *w.LimitMM)
	}
	c := &canvas{units: units}
	c.start("gapline", box{0, 0, gapWide, gapHigh}, w.Name+" over time")
	c.line("ink", point{gapLeft, gapHigh - gapBottom}, point{gapWide - gapRight, gapHigh - gapBottom})
	c.text("small", point{gapLeft - 6, gapHigh - gapBottom + 4}, toEnd, "0")
	d.limit(c)
	d.trace(c)
	first, last := w.Readings[0].At.In(zone), w.Readings[len(w.Readings)-1].At.In(zone)
	c.text("small", point{gapLeft, gapHigh - 6}, fromStart, first.Format("2 Jan"))
	c.text("small", point{gapWide - gapRight, gapHigh - 6}, toEnd, last.Format("2 Jan"))
	return c.finish()
}

// gapLine is one gap and its scale.
type gapLine struct {
	jobs.WatchedGap
	first time.Time
	most  float64 // mm, at the top
}

func (d gapLine) at(t time.Time, mm float64) point {
	last := d.Readings[len(d.Readings)-1].At
	part := 0.0
	if whole := last.Sub(d.first); whole > 0 {
		part = float64(t.Sub(d.first)) / float64(whole)
	}
	return point{gapLeft + part*(gapWide-gapLeft-gapRight), gapHigh - gapBottom - mm/math.Max(d.most, 0.1)*(gapHigh-gapTop-gapBottom)}
}

// limit draws the width at which somebody is to be told.
func (d gapLine) limit(c *canvas) {
	if d.LimitMM == nil {
		return
	}
	at := d.at(d.first, *d.LimitMM)
	c.line("target dash", at, point{gapWide - gapRight, at.y})
	c.text("small", point{gapLeft - 6, at.y + 5}, toEnd, c.units.ShowLimit(*d.LimitMM))
}

// trace draws the line through the readings, and writes the last one beside it.
func (d gapLine) trace(c *canvas) {
	var line []point
	for _, r := range d.Readings {
		line = append(line, d.at(r.At, r.MM))
	}
	c.shape("now", false, line...)
	for _, at := range line {
		c.empty("circle", "class", "ink fill-paper", "cx", at.x, "cy", at.y, "r", 3.0)
	}
	last := d.Readings[len(d.Readings)-1]
	end, class := line[len(line)-1], "number"
	if d.LimitMM != nil && last.MM > *d.LimitMM {
		class += " past"
	}
	c.text(class, end.plus(10, 6), fromStart, c.units.ShowLimit(last.MM))
}
