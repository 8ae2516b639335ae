package drawing

import (
	"math"
	"unicode/utf8"

	"relevel/jobs"
	"relevel/levelling"
)

// words is one text of a label and what it needs.
type words struct {
	class string
	text  string
	size  float64 // height of the letters' line, px
	wide  float64 // of one letter, as a part of size
}

func (w words) width() float64 {
	return float64(utf8.RuneCountInString(w.text)) * w.size * w.wide
}

// label is what is written at a support: its number with the ± beside it, and
// its name with the initials of who signed.
type label struct {
	number, pm words
	name       words
	doubtful   bool
}

// Sizes of the letters on the plan; the style sheet has the same.
const (
	numberSize = 23.0
	smallSize  = 13.0
	digitWide  = 0.72 // of the widest system font that is likely
	letterWide = 0.66
)

func labelOf(s jobs.Support, initials string, u levelling.Unit) label {
	l := label{name: words{"id", s.ID, smallSize, letterWide}, doubtful: s.Doubt != ""}
	if initials != "" {
		l.name.text += " " + initials
	}
	l.number, l.pm = numberOf(s, u)
	return l
}

// numberOf is the figure by a support: the remaining lift, or before there is
// an aim its height. One that is only expected is in pencil.
func numberOf(s jobs.Support, u levelling.Unit) (number, pm words) {
	expected := ""
	if s.Basis == jobs.IsExpected || s.Stale {
		expected = " expected"
	}
	switch {
	case s.NoneHere:
		return words{"id", "none", smallSize, letterWide}, words{}
	case s.LeftOut:
		return words{"id", "left out", smallSize, letterWide}, words{}
	case s.Remaining != nil:
		return words{"n" + expected, u.ShowSigned(s.Remaining.MM), numberSize, digitWide},
			words{"pm", u.ShowSD(s.Remaining.SD), smallSize, digitWide}
	case s.Present != nil:
		return words{"height" + expected, u.Show(s.Present.MM), smallSize, digitWide},
			words{"pm", u.ShowSD(s.Present.SD), smallSize, digitWide}
	}
	return words{}, words{}
}

// numberWide is the width of number and ± in one line.
func (l label) numberWide() float64 {
	w := l.number.width()
	if l.pm.text != "" {
		w += 2 + l.pm.width()
	}
	if l.doubtful && w > 0 {
		w += 14
	}
	return w
}

// placing is one way to write a label: the left ends of its two lines, at
// their feet.
type placing struct{ number, name point }

func (l label) boxes(at placing) [2]box {
	line := func(p point, w words, wide float64) box {
		return box{p.x, p.y - w.size*0.78, p.x + wide, p.y + w.size*0.1}
	}
	return [2]box{line(at.number, l.number, l.numberWide()), line(at.name, l.name, l.name.width())}
}

// placings are the ways to write a label by a post, the best one first: over
// and under it, drawn to one side, or beside it, which comes first where the
// bearer runs up the drawing.
func (l label) placings(at point, e box, upright bool, outward float64, pair bool) []placing {
	nw, iw := l.numberWide(), l.name.width()
	over, under := e.y0-5, e.y1+smallSize-1
	row := func(n, i float64) placing { return placing{point{n, over}, point{i, under}} }
	centre := row(at.x-nw/2, at.x-iw/2)
	left := row(at.x+9-nw, at.x+15-iw)
	right := row(at.x-9, at.x-15)
	below := row(at.x-nw/2, at.x-iw/2)
	below.number.y = under + numberSize
	besideRight := placing{point{e.x1 + 5, at.y + 22}, point{e.x1 + 5, at.y + 37}}
	besideLeft := placing{point{e.x0 - 5 - nw, at.y + 22}, point{e.x0 - 5 - iw, at.y + 37}}
	nameRight, nameLeft := centre, centre
	nameRight.name, nameLeft.name = besideRight.name, besideLeft.name
	switch {
	case pair && outward < 0 && !upright:
		return []placing{left, besideLeft, below, centre}
	case pair && !upright:
		return []placing{right, besideRight, below, centre}
	case upright:
		return []placing{besideRight, besideLeft, centre, left, right}
	}
	return []placing{centre, nameRight, nameLeft, left, right, besideRight, besideLeft, below}
}

// crowd remembers what is taken on the drawing.
type crowd struct{ taken []box }

func (c *crowd) add(bs ...box) { c.taken = append(c.taken, bs...) }

// overlap is the area of boxes that is taken already.
func (c *crowd) overlap(bs ...box) float64 {
	sum := 0.0
	for _, b := range bs {
		for i := range c.taken {
			t := &c.taken[i]
			if b.x1 <= t.x0 || t.x1 <= b.x0 || b.y1 <= t.y0 || t.y1 <= b.y0 {
				continue // as most are: thousands of pairs are looked at for one floor
			}
			sum += b.common(*t)
		}
	}
	return sum
}

// lessUsual is what it costs, in px² of overlap, to write a label the next
// less usual way: a corner over a mark is better than a number out of its row.
const lessUsual = 25

// place takes the way that overlaps least, weighed against how unusual it is.
func (c *crowd) place(l label, ways []placing) placing {
	best, least := ways[0], math.Inf(1)
	for i, w := range ways {
		unusual := lessUsual * float64(i)
		if unusual >= least {
			break // nor does any after it cost less
		}
		bs := l.boxes(w)
		cost := c.overlap(bs[0].grown(1), bs[1].grown(1)) + unusual
		if cost < least {
			best, least = w, cost
		}
	}
	bs := l.boxes(best)
	c.add(bs[0], bs[1])
	return best
}

// write puts the label on the drawing.
func (l label) write(c *canvas, at placing, s jobs.Support) {
	l.writeNumber(c, at.number)
	c.text(l.name.class, at.name, fromStart, l.name.text)
	if s.Signature != nil && s.Signature.Lapsed != "" { // the initials broken
		y := at.name.y - l.name.size*0.36
		from := at.name.plus((float64(utf8.RuneCountInString(s.ID))+1)*l.name.size*l.name.wide, 0)
		c.line("break thin", point{from.x, y}, point{at.name.x + l.name.width(), y})
	}
}

// writeNumber writes the figure and its ± as one line, so that the browser
// sets the second behind the first. A doubtful one is broken by a gap.
func (l label) writeNumber(c *canvas, at point) {
	if l.number.text == "" {
		return
	}
	c.open("text", "class", l.number.class, "x", at.x, "y", at.y)
	c.element("tspan", l.number.text)
	if l.pm.text != "" {
		c.element("tspan", l.pm.text, "class", l.pm.class, "dx", 2.0)
	}
	if l.doubtful {
		c.element("tspan", "?", "class", "doubt", "dx", 1.0)
	}
	c.close("text")
	if l.doubtful {
		y := at.y - l.number.size*0.3
		c.line("break", point{at.x - 2, y + 2}, point{at.x + l.number.width() - 2, y - 2})
	}
}
