package drawing

import (
	"fmt"
	"math"

	"relevel/events"
	"relevel/jobs"
)

// Sizes of a section in px at full size, which is the width of a small phone.
const (
	sectionWide  = 360.0
	sectionHigh  = 438.0
	sectionPost  = 34.0  // half of the post
	bearerTop    = 104.0 // where the bearer is when the lift is done
	bearerDeep   = 46.0
	bearerHalf   = 73.0  // of the piece that is drawn
	postHead     = 262.0 // top of the post, which does not move, with nothing on it
	floorOfEarth = 380.0
	mostLiftPX   = 60.0
	greatSize    = 54.0 // of the figure
)

// section draws one support from the side.
type section struct {
	c      *canvas
	s      jobs.Support
	w      jobs.Words
	exag   float64 // px per mm of height
	target float64 // y of the bearer's underside at its target
	now    float64 // y of it now
}

// Section draws one support in section, with the figure written in the gap.
// Heights are exaggerated where they would not be seen, and the drawing says so.
func Section(s jobs.Support, bearer string, o Options) string {
	c := &canvas{units: o.Units}
	d := section{c: c, s: s, w: o.Words, target: bearerTop + bearerDeep}
	d.exag, d.now = 1, d.target
	if s.Remaining != nil {
		d.exag = exaggeration(math.Abs(s.Remaining.MM))
		d.now += min(max(s.Remaining.MM*d.exag, -mostLiftPX/2), mostLiftPX)
	}
	top := 0.0
	if d.inGap() {
		top = 60 // nothing is written over the bearer
	}
	c.start("section", box{0, top, sectionWide, sectionHigh}, "Section at "+Title(s, o.Words))
	d.earth()
	d.levels()
	d.bearer(bearer)
	if !s.Out && !s.NoneHere {
		d.post()
	} else {
		c.rect("pencil dash", d.postBox())
	}
	d.besides()
	d.figure()
	d.signature(signedBy(s, o))
	if s.Stopped {
		c.line("stop", point{sectionWide/2 - 90, floorOfEarth - 10}, point{sectionWide/2 + 90, d.now - bearerDeep - 12})
	}
	return c.finish()
}

// exaggeration is the scale of heights, a round one that shows the lift.
func exaggeration(lift float64) float64 {
	for _, e := range []float64{10, 5, 3, 2} {
		if lift*e <= mostLiftPX {
			return e
		}
	}
	return 1
}

func (d section) postBox() box {
	x := sectionWide / 2
	return box{x - sectionPost, postHead, x + sectionPost, floorOfEarth}
}

func (d section) earth() {
	d.c.line("heavy", point{12, floorOfEarth}, point{sectionWide - 12, floorOfEarth})
	for x := 20.0; x < sectionWide-16; x += 16 {
		d.c.line("pencil", point{x, floorOfEarth + 10}, point{x + 10, floorOfEarth + 1})
	}
}

// levels draws the line to come to, and the one the underside was found at.
func (d section) levels() {
	if d.s.Target != nil {
		d.c.line("target", point{6, d.target}, point{sectionWide - 6, d.target})
		d.c.text("small", point{6, d.target - 6}, fromStart, "target "+d.c.units.Show(*d.s.Target))
	}
	if d.s.AsFound != nil && d.s.Target != nil {
		drop := *d.s.Target - d.s.AsFound.MM
		y := d.target + min(max(drop*d.exag, -mostLiftPX/2), mostLiftPX+14)
		d.c.line("pencil dash", point{6, y}, point{sectionWide - 6, y})
		at, a := point{6, y + 15}, fromStart
		if d.s.OnJack { // it stands there
			at, a = point{sectionWide - 6, y + 15}, toEnd
		}
		d.c.text("small", at, a, "found "+d.c.withSD(*d.s.AsFound))
	}
}

func (d section) bearer(name string) {
	b := box{sectionWide/2 - bearerHalf, d.now - bearerDeep, sectionWide/2 + bearerHalf, d.now}
	d.c.rect("fill-paper", b)
	d.c.line("heavy", point{b.x0, b.y0}, point{b.x1, b.y0})
	d.c.line("heavy", point{b.x0, b.y1}, point{b.x1, b.y1})
	for _, x := range []float64{b.x0, b.x1} { // cut off here, it goes on
		d.c.shape("ink", false, point{x, b.y0 - 6}, point{x, b.y0 + 16}, point{x - 5, b.y0 + 20},
			point{x + 5, b.y0 + 26}, point{x, b.y0 + 30}, point{x, b.y1 + 6})
	}
	if name == "" {
		name = d.w.Bearer
	}
	d.c.text("small", point{b.x0 + 14, (b.y0+b.y1)/2 + 5}, fromStart, name)
	if d.s.Present != nil {
		y := b.y1 - 8
		if math.Abs(d.target-y+5) < 14 { // the target's line runs there
			y = b.y0 + 14
		}
		d.c.text("small", point{sectionWide - 6, y}, toEnd, "now "+d.c.withSD(*d.s.Present))
	}
}

// post draws the post, what lies on it, and the strap across.
func (d section) post() {
	b := d.postBox()
	if d.s.Packer != nil {
		b.y0 = d.now + max(14, min(d.s.Packer.MM*1.2, 60)) + d.open()
	}
	d.c.rect("heavy post "+shade(d.s.Remaining), b)
	d.packing(b)
	if d.s.Fixed {
		x := sectionWide / 2
		d.c.rect("ink fill-paper", box{x + sectionPost - 12, d.now - bearerDeep, x + sectionPost - 4, b.y0 + 40})
		for _, y := range []float64{d.now - bearerDeep + 12, d.now - 12, b.y0 + 12, b.y0 + 28} {
			d.c.empty("circle", "class", "solid", "cx", x+sectionPost-8, "cy", y, "r", 1.6)
		}
	}
}

// open is the gap over a final packer until the jack is down on it.
func (d section) open() float64 {
	if d.s.Packer.Sort == events.Final && (d.s.OnJack || d.s.State == jobs.IsPacked) {
		return 6
	}
	return 0
}

func (d section) packing(b box) {
	p := d.s.Packer
	if p == nil {
		return
	}
	what := p.Sort
	if p.Sort == events.Final {
		d.c.rect("solid", box{b.x0 - 6, d.now + d.open(), b.x1 + 6, b.y0})
	} else {
		for i, y := 0, d.now+4; y < b.y0-2; i, y = i+1, y+6 {
			lean := 1.5 - 3*float64(i%2)
			d.c.line("heavy", point{b.x0 + float64(i%3)*3, y - lean}, point{b.x1 - float64(i%2)*4, y + lean})
		}
	}
	text := d.c.units.Show(p.MM) + " " + string(what)
	d.c.text("small", point{b.x1 + 14, (d.now+b.y0)/2 + 9}, fromStart, text)
}

// besides draws jack and blocking.
func (d section) besides() {
	x := sectionWide / 2
	if d.s.OnJack {
		apex := point{x - 92, d.now}
		d.c.shape("solid", true, apex.plus(-7, 0), apex.plus(7, 0), point{apex.x + 26, floorOfEarth}, point{apex.x - 26, floorOfEarth})
		d.c.text("small", point{apex.x - 30, floorOfEarth + 28}, fromStart, "jack")
	}
	if d.s.OnBlock {
		p := post{c: d.c}
		p.blocking(box{x + 96, d.now, x + 160, floorOfEarth})
		d.c.text("small", point{x + 96, floorOfEarth + 28}, fromStart, d.w.Blocking)
	}
}

// inGap reports whether there is a gap between post and bearer to write in.
func (d section) inGap() bool { return d.s.Packer == nil || d.s.Out }

// figure writes the remaining lift in the gap, or over the bearer where the gap
// is filled.
func (d section) figure() {
	x, y := sectionWide/2, bearerTop-mostLiftPX/2-12
	if d.inGap() {
		y = (d.now+postHead)/2 + 19
	}
	number, pm := numberOf(d.s, d.c.units)
	if number.text == "" {
		number = words{class: "n expected", text: "not read"}
	}
	l := label{number: number, pm: pm, doubtful: d.s.Doubt != ""}
	l.number.class += " great"
	l.number.size = greatSize
	if d.s.Remaining == nil { // words, or a height
		l.number.class += " less"
		l.number.size, l.number.wide = greatSize*0.6, letterWide
	}
	if d.s.OnJack { // the found height is written to the right
		x -= 13
	}
	d.c.open("g", "class", "figure")
	l.writeNumber(d.c, point{x - l.number.width()/2 - 10, y})
	d.c.close("g")
	if d.exag != 1 {
		d.c.text("small", point{6, floorOfEarth + 46}, fromStart, fmt.Sprintf("heights drawn ×%g", d.exag))
	}
}

func (d section) signature(initials string) {
	if d.s.Signature == nil {
		return
	}
	x := sectionWide / 2
	for _, y := range []float64{floorOfEarth + 18, floorOfEarth + 23} {
		if d.s.Signature.Lapsed == "" {
			d.c.line("ink", point{x - 50, y}, point{x + 50, y})
			continue
		}
		d.c.line("ink", point{x - 50, y}, point{x - 10, y})
		d.c.line("ink", point{x + 10, y}, point{x + 50, y})
	}
	d.c.text("small", point{x, floorOfEarth + 42}, centred, initials)
}
