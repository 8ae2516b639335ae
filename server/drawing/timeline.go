package drawing

import (
	"math"
	"time"

	"relevel/jobs"
	"relevel/levelling"
)

// Sizes of a time line, in px at full size.
const (
	timeWide   = 340.0
	timeHigh   = 148.0
	timeLeft   = 52.0 // for the figures of its scale
	timeRight  = 20.0
	timeTop    = 30.0
	timeBottom = 28.0
	timeBarEnd = 4.0 // half of the stroke that ends a ±
)

// leastReach is how far a time line's scale goes up and down at least, mm: what no
// reading tells apart is not to look like a fall.
const leastReach = 4.0

// TimeScale is one scale for the time lines of a job, so that they can be compared:
// from the first day to the last, and as far up and down as any place went.
type TimeScale struct {
	from, till time.Time
	reach      float64 // mm above and below what was read first
}

// TimeScaleOf is the scale on which some places fit.
func TimeScaleOf(tracks []jobs.Track) TimeScale {
	s := TimeScale{reach: leastReach}
	for _, t := range tracks {
		for _, r := range t.Reads {
			if s.from.IsZero() || r.On.Before(s.from) {
				s.from = r.On
			}
			if r.On.After(s.till) {
				s.till = r.On
			}
			s.reach = max(s.reach, math.Abs(r.MM-t.Reads[0].MM)+r.SD)
		}
	}
	return s
}

// TimeLine draws what was read at one place since it was left to itself: its height
// against time, each reading with its ±, and the height that was read first as a level
// line through all of them. The verdict stands above it in the words given. It is ""
// for a place that was not read.
func TimeLine(t jobs.Track, says string, scale TimeScale, units levelling.Unit) string {
	if len(t.Reads) == 0 {
		return ""
	}
	d := timeLine{t, scale}
	c := &canvas{units: units}
	c.start("timeline", box{0, 0, timeWide, timeHigh}, t.ID+" over time: "+says)
	c.text("bearer", point{timeLeft, 18}, fromStart, t.ID)
	c.text("small says", point{timeWide - timeRight, 18}, toEnd, says)
	d.frame(c)
	d.trace(c)
	return c.finish()
}

type timeLine struct {
	jobs.Track
	scale TimeScale
}

// at is the place of a height above what was read first, on a day.
func (d timeLine) at(on time.Time, above float64) point {
	part := 0.0
	if whole := d.scale.till.Sub(d.scale.from); whole > 0 {
		part = float64(on.Sub(d.scale.from)) / float64(whole)
	}
	middle := timeTop + (timeHigh-timeTop-timeBottom)/2
	return point{timeLeft + 8 + part*(timeWide-timeLeft-timeRight-16), middle - above/d.scale.reach*(timeHigh-timeTop-timeBottom)/2}
}

// frame draws the level line, the scale of heights and the days at both ends.
func (d timeLine) frame(c *canvas) {
	first := d.Reads[0]
	level := d.at(first.On, 0).y
	c.line("target", point{timeLeft, level}, point{timeWide - timeRight, level})
	step := wholeStep(d.scale.reach)
	for _, mm := range []float64{-step, 0, step} {
		y := d.at(first.On, mm).y
		c.line("ink", point{timeLeft - 5, y}, point{timeLeft, y})
		c.text("small", point{timeLeft - 9, y + 5}, toEnd, c.units.ShowSigned(mm))
	}
	c.line("ink", point{timeLeft, timeTop}, point{timeLeft, timeHigh - timeBottom})
	foot := timeHigh - 8
	c.text("small", point{timeLeft, foot}, fromStart, d.scale.from.Format("Jan 2006"))
	if d.scale.till.Format("Jan 2006") != d.scale.from.Format("Jan 2006") {
		c.text("small", point{timeWide - timeRight, foot}, toEnd, d.scale.till.Format("Jan 2006"))
	}
}

// wholeStep is a round height that fits on a scale.
func wholeStep(reach float64) float64 {
	step := 1.0
	for _, mm := range []float64{2, 3, 5, 10, 20, 50, 100, 200, 500, 1000} {
		if mm <= reach {
			step = mm
		}
	}
	return step
}

// trace draws the readings, each with its ±, and the line through them.
func (d timeLine) trace(c *canvas) {
	var line []point
	for _, r := range d.Reads {
		line = append(line, d.at(r.On, r.MM-d.Reads[0].MM))
	}
	if len(line) > 1 {
		c.shape("now", false, line...)
	}
	for i, r := range d.Reads {
		above := r.MM - d.Reads[0].MM
		low, high := d.at(r.On, above-r.SD), d.at(r.On, above+r.SD)
		c.line("ink", low, high)
		for _, end := range []point{low, high} {
			c.line("ink", end.plus(-timeBarEnd, 0), end.plus(timeBarEnd, 0))
		}
		c.open("g", "class", "read")
		c.element("title", r.On.Format("2 January 2006")+": "+c.units.ShowSigned(above)+c.units.Word()+" "+c.units.ShowSD(r.SD))
		c.empty("circle", "class", "ink fill-paper", "cx", line[i].x, "cy", line[i].y, "r", knot)
		c.close("g")
	}
}
