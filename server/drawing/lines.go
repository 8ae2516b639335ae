package drawing

import (
	"fmt"
	"math"
	"slices"

	"relevel/events"
	"relevel/jobs"
)

// keyHigh is what the key of a drawing takes below the floor, keyWide the least
// width it is written in, px.
const (
	keyHigh = 112.0
	keyWide = 348.0
	knot    = 3.2 // half of the mark at a height
	hinge   = 5.0 // half of the mark where two lengths meet over one support
)

// StringLines draws the plan with a section along each bearer standing in its
// place: its heights are drawn across the bearer's own line, all of them
// exaggerated alike, and the key says how much. As found is dashed, now is in
// ink and lighter and broken where it was not read, the target is fine.
// Nothing is drawn across a butted join.
func StringLines(p jobs.Picture, o Options) string {
	d := newLines(p, o.Turn)
	d.on(o.Lines)
	c := &canvas{units: o.Units, plain: o.Plain}
	sheet := d.l.sheet()
	sheet.x1 = max(sheet.x1, keyWide)
	whole := box{0, 0, sheet.x1, sheet.y1 + keyHigh}
	c.start("lines"+sized(whole), whole, fmt.Sprintf(c.means("Lines along %d %s, heights drawn ×%s"),
		len(d.lines), plural(bearerWord(o.Words), len(d.lines)), num(d.times)))
	taken := &crowd{}
	d.l.drawGround(c, p.Plan)
	d.l.drawEdge(c, p.Plan)
	for _, b := range d.lines {
		d.draw(c, b, taken)
	}
	for _, b := range d.lines {
		d.l.nameBearer(c, b.b, taken)
		for _, s := range b.supports {
			at := d.place(b, s)
			taken.add(box{at.x, at.y, at.x, at.y}.grown(hinge))
		}
	}
	for _, b := range d.lines {
		d.knots(c, b, taken, o)
	}
	d.key(c, sheet.y1+14)
	return c.finish()
}

func bearerWord(w jobs.Words) string {
	if w.Bearer == "" {
		return "bearer"
	}
	return w.Bearer
}

// draw draws one bearer's own line and the three lines over it.
func (d lines) draw(c *canvas, b line, taken *crowd) {
	for _, r := range d.l.pieces(b.b) {
		c.shape("axis", false, r.at...)
		taken.along(r.at)
	}
	d.trace(c, b, "target", taken, func(s jobs.Support) *float64 { return s.Target })
	d.trace(c, b, "asfound", taken, func(s jobs.Support) *float64 { return height(s.AsFound) })
	d.now(c, b, taken)
}

// trace draws one line through the heights that are known.
func (d lines) trace(c *canvas, b line, class string, taken *crowd, of func(jobs.Support) *float64) {
	for _, r := range b.runs() {
		var at []point
		for _, s := range r {
			if h := of(s); h != nil {
				at = append(at, d.at(b, s, *h))
			}
		}
		if len(at) > 1 {
			c.shape(class, false, at...)
			taken.along(at)
		}
	}
}

// now draws the line as it is now.
func (d lines) now(c *canvas, b line, taken *crowd) {
	for _, r := range b.runs() {
		for _, st := range nowOf(r, func(i int) point { return d.at(b, r[i], r[i].Present.MM) }) {
			c.shape(nowClass(st.sure), false, st.at...)
			taken.along(st.at)
		}
	}
}

// stretch is a part of a line as it is now, all of it certain or none.
type stretch struct {
	at   []point
	sure bool
}

// nowOf parts a length of bearer into stretches. One is certain where all of
// its supports were read; where only one end was, or a support between was
// not, it is what one expects.
func nowOf(run []jobs.Support, at func(int) point) []stretch {
	var all []stretch
	last := -1
	for i, s := range run {
		if s.Present == nil {
			continue
		}
		if last >= 0 {
			sure := i == last+1 && wasRead(run[last]) && wasRead(s)
			if n := len(all); n == 0 || all[n-1].sure != sure {
				all = append(all, stretch{[]point{at(last)}, sure})
			}
			all[len(all)-1].at = append(all[len(all)-1].at, at(i))
		}
		last = i
	}
	return all
}

func nowClass(sure bool) string {
	if sure {
		return "now"
	}
	return "now expected"
}

// wasRead reports whether the present height was read since anything moved.
func wasRead(s jobs.Support) bool { return s.Basis == jobs.WasRead && !s.Stale }

// knots marks each support on the line with what is left to lift, where there
// is room for it, and makes the mark a link.
func (d lines) knots(c *canvas, b line, taken *crowd, o Options) {
	for _, s := range b.supports {
		foot, at := d.l.supports[s.ID], d.place(b, s)
		tag := "a"
		if o.link(s.ID) == "" {
			tag = "g"
		}
		c.open(tag, "class", "knot", "href", o.link(s.ID), "aria-label", Title(s, o.Words))
		c.element("title", Title(s, o.Words))
		c.rect("touch", box{at.x, at.y, at.x, at.y}.grown(touch/2))
		if s.Present != nil {
			c.line("stake", foot, at)
			c.empty("circle", "class", knotClass(s), "cx", at.x, "cy", at.y, "r", knotSize(d.l, s))
		} else {
			c.line("stake", foot.plus(-4*b.up.x, -4*b.up.y), foot.plus(4*b.up.x, 4*b.up.y))
		}
		d.label(c, s, at, foot, taken)
		c.close(tag)
	}
}

// place is where a support's mark stands: at its height, or on the bearer's own
// line while nobody knows it.
func (d lines) place(b line, s jobs.Support) point {
	if s.Present == nil {
		return d.l.supports[s.ID]
	}
	return d.at(b, s, s.Present.MM)
}

func knotClass(s jobs.Support) string {
	if wasRead(s) {
		return "ink fill-paper"
	}
	return "pencil fill-paper"
}

func knotSize(l *layout, s jobs.Support) float64 {
	if j := l.joins[s.ID]; j != "" && j != events.Butted {
		return hinge
	}
	return knot
}

// label writes what is left to lift and the name, each only where it covers nothing.
func (d lines) label(c *canvas, s jobs.Support, at, foot point, taken *crowd) {
	lb := labelOf(s, "", c.units)
	if lb.number.class == "n" || lb.number.class == "n expected" {
		lb.number.class, lb.number.size = "number"+lb.number.class[1:], lineSize
	}
	if w := lb.numberWide(); w > 0 {
		if to, free := taken.free(around([]point{at}), w, lineSize); free {
			lb.writeNumber(c, to)
		}
	}
	if to, free := taken.free(around([]point{foot, at}), lb.name.width(), smallSize); free {
		c.text(lb.name.class, to, fromStart, lb.name.text)
	}
}

// lineSize is the height of the numbers beside a line, px.
const lineSize = 16.0

// free looks around a box for a place where a line of letters covers nothing.
func (c *crowd) free(b box, wide, high float64) (point, bool) {
	middle := (b.x0 + b.x1 - wide) / 2
	for _, p := range []point{
		{middle, b.y1 + high + 3}, {middle, b.y0 - 9}, {b.x1 + 9, b.y1 + high}, {b.x0 - 9 - wide, b.y1 + high},
		{b.x1 + 9, b.y0 - 5}, {b.x0 - 9 - wide, b.y0 - 5}, {middle, b.y1 + 2*high + 6}, {middle, b.y0 - high - 14},
		{b.x1 + 22, b.y1 + 2}, {b.x0 - 22 - wide, b.y1 + 2}, {b.x1 + 38, b.y1 + 2}, {b.x0 - 38 - wide, b.y1 + 2},
	} {
		at := box{p.x, p.y - high*0.8, p.x + wide, p.y + high*0.15}
		if !c.covers(at.grown(1)) {
			c.add(at)
			return p, true
		}
	}
	return point{}, false
}

// covers reports whether a box would cover anything.
func (c *crowd) covers(b box) bool {
	return slices.ContainsFunc(c.taken, func(t box) bool {
		return b.x0 < t.x1 && t.x0 < b.x1 && b.y0 < t.y1 && t.y0 < b.y1
	})
}

// along marks the place of a line as taken, in short boxes.
func (c *crowd) along(at []point) {
	const step = 12
	for i := 1; i < len(at); i++ {
		a, b := at[i-1], at[i]
		d, long := a.towards(b), math.Hypot(b.x-a.x, b.y-a.y)
		for s := 0.0; s < long; s += step {
			e := min(s+step, long)
			c.add(around([]point{a.plus(d.x*s, d.y*s), a.plus(d.x*e, d.y*e)}).grown(1))
		}
	}
}

// key says what the lines are, and how high a millimetre is.
func (d lines) key(c *canvas, y float64) {
	for i, k := range []struct{ class, means string }{
		{"now", "now, read"}, {"now expected", "now, expected"},
		{"asfound", "as found"}, {"target", "target"},
	} {
		at := point{24 + 160*float64(i%2), y + 24*float64(i/2)}
		c.line(k.class, at, at.plus(34, 0))
		c.text("small", at.plus(42, 5), fromStart, c.means(k.means))
	}
	mm := d.barMM()
	x := 44.0
	for _, up := range d.ways() {
		foot := point{x, y + 68}
		from, to := foot.plus(-up.x*mm*d.pxPerMM/2, -up.y*mm*d.pxPerMM/2), foot.plus(up.x*mm*d.pxPerMM/2, up.y*mm*d.pxPerMM/2)
		c.line("heavy bar", from, to)
		for _, end := range []point{from, to} {
			c.line("ink", end.plus(up.y*4, -up.x*4), end.plus(-up.y*4, up.x*4))
		}
		x += 60
	}
	c.text("small", point{x - 20, y + 66}, fromStart, c.units.ShowWith(mm)+c.means("; heights drawn ×")+num(d.times))
	c.text("small", point{x - 20, y + 84}, fromStart, d.zeroWords(c))
}
