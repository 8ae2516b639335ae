package drawing

import (
	"fmt"
	"math"

	"relevel/events"
	"relevel/jobs"
)

// Sizes of a string line in px at full size.
const (
	stringHigh   = 118.0
	stringMargin = 46.0
	stringSize   = 18.0 // of its numbers
)

// StringLine draws the line along one bearer: as found dashed, as it is now in
// ink, the target fine. Heights are exaggerated and the drawing says how much.
// It is "" for a bearer of which nobody knows two heights.
func StringLine(p jobs.Picture, b events.Bearer, o Options) string {
	d := newStringLine(p, b)
	if d.known() < 2 {
		return ""
	}
	c := &canvas{units: o.Units}
	wide := d.length*d.scale + 2*stringMargin
	c.start("stringline", box{0, 0, wide, stringHigh}, "Line along "+b.ID)
	c.text("bearer", point{4, 20}, fromStart, b.ID)
	c.text("small", point{wide - 4, 20}, toEnd, fmt.Sprintf("heights drawn ×%s", num(d.times)))
	d.trace(c, "target", func(s jobs.Support) *float64 { return s.Target })
	d.trace(c, "pencil dash", func(s jobs.Support) *float64 { return height(s.AsFound) })
	d.now(c)
	for i, s := range d.supports {
		d.tick(c, i, s, o)
	}
	return c.finish()
}

// stringLine is a bearer stretched out along the drawing.
type stringLine struct {
	supports []jobs.Support
	along    []float64 // metres from its first support
	length   float64
	scale    float64 // px per metre
	times    float64 // exaggeration of heights
	top      float64 // the highest height, mm
	pxPerMM  float64
	parted   map[int]bool // nothing passes between i−1 and i
}

func newStringLine(p jobs.Picture, b events.Bearer) stringLine {
	d := stringLine{scale: scaleFor(p, 0), parted: map[int]bool{}}
	pairs := buttedPairs(events.Plan{Bearers: []events.Bearer{b}})
	for i, id := range b.Supports {
		s, ok := p.Support(id)
		if !ok {
			continue
		}
		if n := len(d.supports); n > 0 {
			last := d.supports[n-1]
			step := math.Hypot(s.X-last.X, s.Y-last.Y)
			if i > 0 && pairs[b.Supports[i-1]] == id {
				d.parted[n] = true
				step = max(step, 0.3)
			}
			d.length += step
		}
		d.supports, d.along = append(d.supports, s), append(d.along, d.length)
	}
	d.top, d.pxPerMM = heightScale(p)
	d.times = math.Round(d.pxPerMM * 1000 / d.scale)
	return d
}

// heightScale is the same for all bearers of a floor, so that their lines can
// be compared: the highest height, and the px of a millimetre.
func heightScale(p jobs.Picture) (top, pxPerMM float64) {
	low := math.Inf(1)
	top = math.Inf(-1)
	for _, s := range p.Supports {
		for _, h := range []*float64{s.Target, height(s.AsFound), height(s.Present)} {
			if h != nil && !s.NoneHere {
				low, top = min(low, *h), max(top, *h)
			}
		}
	}
	return top, min((stringHigh-70)/max(top-low, 8), 4)
}

func height(f *jobs.Figure) *float64 {
	if f == nil {
		return nil
	}
	return &f.MM
}

// known counts the supports with a present height.
func (d stringLine) known() int {
	n := 0
	for _, s := range d.supports {
		if s.Present != nil {
			n++
		}
	}
	return n
}

func (d stringLine) at(i int, mm float64) point {
	return point{stringMargin + d.along[i]*d.scale, 36 + (d.top-mm)*d.pxPerMM}
}

// trace draws one line through the heights that are known.
func (d stringLine) trace(c *canvas, class string, of func(jobs.Support) *float64) {
	var run []point
	for i, s := range d.supports {
		if d.parted[i] {
			c.shape(class, false, run...)
			run = nil
		}
		if h := of(s); h != nil {
			run = append(run, d.at(i, *h))
		}
	}
	c.shape(class, false, run...)
}

// now draws the line as it is now, lighter and broken where it was not read.
func (d stringLine) now(c *canvas) {
	from := 0
	for i := range d.supports {
		if i+1 < len(d.supports) && !d.parted[i+1] {
			continue
		}
		first := from
		for _, st := range nowOf(d.supports[first:i+1], func(k int) point { return d.at(first+k, d.supports[first+k].Present.MM) }) {
			c.shape(nowClass(st.sure), false, st.at...)
		}
		from = i + 1
	}
}

// tick marks a support on the line, with what is left to lift.
func (d stringLine) tick(c *canvas, i int, s jobs.Support, o Options) {
	x := stringMargin + d.along[i]*d.scale
	c.line("pencil", point{x, stringHigh - 32}, point{x, stringHigh - 26})
	if s.Present != nil {
		at := d.at(i, s.Present.MM)
		c.empty("circle", "class", "ink fill-paper", "cx", at.x, "cy", at.y, "r", 3.0)
	}
	if s.Remaining == nil || s.NoneHere {
		return
	}
	l := label{number: words{"number", c.units.ShowSigned(s.Remaining.MM), stringSize, digitWide}, pm: words{"pm", c.units.ShowSD(s.Remaining.SD), smallSize, digitWide}}
	if !wasRead(s) {
		l.number.class += " expected"
	}
	from := point{x - l.numberWide()/2, stringHigh - 12}
	if d.parted[i] {
		from.x = x - 4
	} else if d.parted[i+1] {
		from.x = x + 4 - l.numberWide()
	}
	l.writeNumber(c, from)
}
