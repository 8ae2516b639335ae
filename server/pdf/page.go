package pdf

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Page is the page that is being drawn. What is drawn on it belongs to an element or
// is an artifact, such as a running head, which is not read out.
type Page struct {
	doc    *Document
	paper  Paper
	id     int
	b      []byte
	marks  pageMarks
	inside bool // of an element or an artifact
	fonts  []bool
	images []*Image
	ink    state
	pen    [2]float64 // where an edge of a letter has come to
	saved  []state
}

// state is what the page draws with now, so that it is said only when it changes.
type state struct {
	fill, stroke Colour
	wide         float64
	dash         string
	cap, join    int
}

// Colour is a grey or a colour of a screen, each part from 0 to 255.
type Colour struct{ R, G, B uint8 }

// Black is the ink that a page begins with.
var Black = Colour{}

// Page ends the present page and begins another.
func (d *Document) Page(paper Paper) *Page {
	d.endPage()
	d.page = &Page{doc: d, paper: paper, id: d.reserve(), fonts: make([]bool, len(d.fonts)), ink: state{wide: 1}}
	d.page.b = fmt.Appendf(nil, "1 0 0 -1 0 %s cm\n", num(paper.High)) // y downwards
	return d.page
}

// Number is which page it is, from 1.
func (p *Page) Number() int { return len(p.doc.pages) + 1 }

func (d *Document) endPage() {
	p := d.page
	if p == nil {
		return
	}
	d.page = nil
	content := d.reserve()
	d.packed(content, "", p.b)
	d.object(p.id, fmt.Sprintf("<</Type /Page /Parent %d 0 R /MediaBox [0 0 %s %s] /Resources <<%s>> /Contents %d 0 R /StructParents %d /Tabs /S>>",
		d.pagesID, num(p.paper.Wide), num(p.paper.High), p.resources(), content, len(d.parents)))
	d.parents = append(d.parents, p.marks)
	d.pages = append(d.pages, p.id)
}

// resources are the faces and the photos that the page uses.
func (p *Page) resources() string {
	var b strings.Builder
	for i, used := range p.fonts {
		if used {
			fmt.Fprintf(&b, " /F%d %d 0 R", i, p.doc.fontID(i))
		}
	}
	out := " /Font <<" + b.String() + ">>"
	b.Reset()
	for _, i := range p.images {
		fmt.Fprintf(&b, " /I%d %d 0 R", i.id, i.id)
	}
	return out + " /XObject <<" + b.String() + ">>"
}

// For draws a part of what the document says.
func (p *Page) For(e *Element, draw func()) {
	mark := len(p.marks)
	p.marks = append(p.marks, e)
	if e.onPage == 0 {
		e.onPage, e.sheetHi = p.id, p.paper.High
	}
	e.kids = append(e.kids, kid{page: p.id, mark: mark})
	p.marked(fmt.Sprintf("/%s <</MCID %d>> BDC\n", e.Tag, mark), draw)
}

// Artifact draws what is no part of it.
func (p *Page) Artifact(draw func()) { p.marked("/Artifact BMC\n", draw) }

func (p *Page) marked(begin string, draw func()) {
	if p.inside {
		panic("pdf: a mark within a mark")
	}
	p.inside = true
	p.b = append(p.b, begin...)
	draw()
	p.op("EMC")
	p.inside = false
}

// op writes numbers and the operator that they are for.
func (p *Page) op(operator string, numbers ...float64) {
	for _, n := range numbers {
		p.b = appendNum(p.b, n)
		p.b = append(p.b, ' ')
	}
	p.b = append(p.b, operator...)
	p.b = append(p.b, '\n')
}

// Within draws with its own ink and in its own measure: moved to x, y and made larger.
func (p *Page) Within(x, y, larger float64, draw func()) {
	p.saved = append(p.saved, p.ink)
	p.op("q")
	p.op("cm", larger, 0, 0, larger, x, y)
	draw()
	p.op("Q")
	p.ink = p.saved[len(p.saved)-1]
	p.saved = p.saved[:len(p.saved)-1]
}

// Fill sets the colour of areas and letters.
func (p *Page) Fill(c Colour) {
	if p.ink.fill != c {
		p.ink.fill = c
		p.op("rg", part(c.R), part(c.G), part(c.B))
	}
}

// Stroke sets the colour of lines.
func (p *Page) Stroke(c Colour) {
	if p.ink.stroke != c {
		p.ink.stroke = c
		p.op("RG", part(c.R), part(c.G), part(c.B))
	}
}

func part(v uint8) float64 { return float64(v) / 255 }

// Pen sets how wide lines are.
func (p *Page) Pen(wide float64) {
	if p.ink.wide != wide {
		p.ink.wide = wide
		p.op("w", wide)
	}
}

// Dash breaks lines into strokes and gaps; none draws them whole.
func (p *Page) Dash(lengths ...float64) {
	var b []byte
	for _, l := range lengths {
		b = append(appendNum(b, l), ' ')
	}
	if dash := strings.TrimSpace(string(b)); p.ink.dash != dash {
		p.ink.dash = dash
		p.b = append(p.b, "["+dash+"] 0 d\n"...)
	}
}

// Round ends and joins lines with half circles, or plainly.
func (p *Page) Round(ends, joins bool) {
	shape := map[bool]int{true: 1}
	if c := shape[ends]; p.ink.cap != c {
		p.ink.cap = c
		p.op("J", float64(c))
	}
	if j := shape[joins]; p.ink.join != j {
		p.ink.join = j
		p.op("j", float64(j))
	}
}

// Move begins a figure of the path.
func (p *Page) Move(x, y float64) { p.op("m", x, y) }

// Line goes on to a point.
func (p *Page) Line(x, y float64) { p.op("l", x, y) }

// Curve goes on to the third point, drawn to the first two.
func (p *Page) Curve(x1, y1, x2, y2, x3, y3 float64) { p.op("c", x1, y1, x2, y2, x3, y3) }

// Shut goes back to where the figure began.
func (p *Page) Shut() { p.op("h") }

// Rect adds an upright rectangle to the path.
func (p *Page) Rect(x, y, wide, high float64) { p.op("re", x, y, wide, high) }

// Circle adds a circle to the path, of four curves that are off by less than a
// thousandth of its radius.
func (p *Page) Circle(x, y, r float64) {
	const k = 0.5523 // 4/3·(√2−1)
	p.Move(x+r, y)
	p.Curve(x+r, y+k*r, x+k*r, y+r, x, y+r)
	p.Curve(x-k*r, y+r, x-r, y+k*r, x-r, y)
	p.Curve(x-r, y-k*r, x-k*r, y-r, x, y-r)
	p.Curve(x+k*r, y-r, x+r, y-k*r, x+r, y)
	p.Shut()
}

// Draw fills the path, draws its line, or both, and begins a new one.
func (p *Page) Draw(fill, stroke bool) {
	switch {
	case fill && stroke:
		p.op("B")
	case fill:
		p.op("f")
	case stroke:
		p.op("S")
	default:
		p.op("n")
	}
}

// Rule draws one straight line.
func (p *Page) Rule(x1, y1, x2, y2 float64) {
	p.Move(x1, y1)
	p.Line(x2, y2)
	p.Draw(false, true)
}

// Show draws a photo in a rectangle.
func (p *Page) Show(i *Image, x, y, wide, high float64) {
	known := false
	for _, other := range p.images {
		known = known || other == i
	}
	if !known {
		p.images = append(p.images, i)
	}
	p.op("q")
	p.op("cm", wide, 0, 0, -high, x, y+high)
	p.op("/I" + strconv.Itoa(i.id) + " Do")
	p.op("Q")
}

func num(v float64) string { return string(appendNum(nil, v)) }

// appendNum writes a number to a thousandth, as short as it can be. PDF knows no
// exponents.
func appendNum(b []byte, v float64) []byte {
	if !(v > -1e6 && v < 1e6) { // beyond any paper, or no number
		v = 0
	}
	from := len(b)
	b = strconv.AppendFloat(b, v, 'f', 3, 64)
	for b[len(b)-1] == '0' {
		b = b[:len(b)-1]
	}
	if b[len(b)-1] == '.' {
		b = b[:len(b)-1]
	}
	if string(b[from:]) == "-0" {
		b = append(b[:from], '0')
	}
	return b
}

// Turned draws turned about a point, clockwise on the page.
func (p *Page) Turned(angle, x, y float64, draw func()) {
	sin, cos := math.Sincos(angle)
	p.saved = append(p.saved, p.ink)
	p.op("q")
	p.op("cm", cos, sin, -sin, cos, x-float64(cos*x)+float64(sin*y), y-float64(sin*x)-float64(cos*y))
	draw()
	p.op("Q")
	p.ink = p.saved[len(p.saved)-1]
	p.saved = p.saved[:len(p.saved)-1]
}
