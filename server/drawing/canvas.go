package drawing

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"relevel/levelling"
)

// canvas writes SVG. Every text and attribute is escaped on its way out. A floor
// is thousands of lines and is drawn again after every reading, on a phone too:
// what writes most of them makes no garbage.
type canvas struct {
	b     []byte
	units levelling.Unit // that lengths are written in
	plain bool           // keys are for somebody who knows no word of the trade
}

// room is for what a drawing is likely to take, so that it is not moved as it grows.
func (c *canvas) room(bytes int) { c.b = slices.Grow(c.b, bytes) }

// start opens an SVG of a size, in which one unit is one px at full size.
func (c *canvas) start(class string, b box, label string) {
	c.open("svg", "xmlns", "http://www.w3.org/2000/svg", "class", class,
		"width", b.wide(), "height", b.high(),
		"viewBox", strings.Join([]string{num(b.x0), num(b.y0), num(b.wide()), num(b.high())}, " "),
		"role", "group", "aria-label", label)
}

func (c *canvas) finish() string {
	c.close("svg")
	return string(c.b)
}

// open writes a tag with its attributes, given as name, value, name, value.
func (c *canvas) open(tag string, attrs ...any) {
	c.tag(tag, attrs)
	c.raw(">")
}

// close ends a tag. No line ends within a text, where it would show as a space.
func (c *canvas) close(tag string) {
	c.raw("</")
	c.raw(tag)
	c.raw(">")
	if tag != "tspan" {
		c.raw("\n")
	}
}

func (c *canvas) empty(tag string, attrs ...any) {
	c.tag(tag, attrs)
	c.raw("/>\n")
}

func (c *canvas) tag(tag string, attrs []any) {
	c.raw("<")
	c.raw(tag)
	for i := 0; i+1 < len(attrs); i += 2 {
		name, _ := attrs[i].(string)
		switch v := attrs[i+1].(type) {
		case float64:
			c.at(name, v)
		case string:
			c.attr(name, v)
		default:
			c.attr(name, fmt.Sprint(v))
		}
	}
}

func (c *canvas) raw(s string) { c.b = append(c.b, s...) }

// attr writes an attribute, unless it is empty.
func (c *canvas) attr(name, value string) {
	if value == "" {
		return
	}
	c.raw(" ")
	c.raw(name)
	c.raw(`="`)
	c.escaped(value)
	c.raw(`"`)
}

// at writes a coordinate.
func (c *canvas) at(name string, v float64) {
	c.raw(" ")
	c.raw(name)
	c.raw(`="`)
	c.num(v)
	c.raw(`"`)
}

// escaped writes what may be any text. It is html.EscapeString without the table
// for the way back, a fiftieth of what a phone downloads.
func (c *canvas) escaped(s string) {
	from := 0
	for i := range len(s) {
		entity := ""
		switch s[i] {
		case '&':
			entity = "&amp;"
		case '\'':
			entity = "&#39;"
		case '<':
			entity = "&lt;"
		case '>':
			entity = "&gt;"
		case '"':
			entity = "&#34;"
		default:
			continue
		}
		c.raw(s[from:i])
		c.raw(entity)
		from = i + 1
	}
	c.raw(s[from:])
}

func (c *canvas) element(tag, content string, attrs ...any) {
	c.open(tag, attrs...)
	c.escaped(content)
	c.close(tag)
}

func (c *canvas) line(class string, a, b point) {
	c.raw("<line")
	c.attr("class", class)
	c.at("x1", a.x)
	c.at("y1", a.y)
	c.at("x2", b.x)
	c.at("y2", b.y)
	c.raw("/>\n")
}

func (c *canvas) rect(class string, b box) {
	c.raw("<rect")
	c.attr("class", class)
	c.at("x", b.x0)
	c.at("y", b.y0)
	c.at("width", b.wide())
	c.at("height", b.high())
	c.raw("/>\n")
}

// shape draws straight lines through points, closed when it ends where it began.
func (c *canvas) shape(class string, closed bool, points ...point) {
	if len(points) == 0 {
		return
	}
	c.raw("<path")
	c.attr("class", class)
	c.raw(` d="`)
	for i, p := range points {
		c.raw("ML"[min(i, 1):][:1])
		c.num(p.x)
		c.raw(" ")
		c.num(p.y)
	}
	if closed {
		c.raw("Z")
	}
	c.raw("\"/>\n")
}

// anchor says which part of a text stands at its place.
type anchor string

const (
	fromStart anchor = ""
	centred   anchor = "middle"
	toEnd     anchor = "end"
)

func (c *canvas) text(class string, at point, a anchor, s string) {
	c.element("text", s, "class", class, "x", at.x, "y", at.y, "text-anchor", string(a))
}

// num is a coordinate as the canvas writes it.
func num(v float64) string {
	var c canvas
	c.num(v)
	return string(c.b)
}

// wholeTenths is below what the digits of a float64 tell apart.
const wholeTenths = 1e15

// num writes a coordinate to a tenth of a px. What is no number is drawn at 0
// rather than breaking the whole drawing.
func (c *canvas) num(v float64) {
	tenths := math.Round(v * 10)
	if math.IsNaN(tenths) || math.IsInf(tenths, 0) {
		tenths = 0
	}
	if math.Abs(tenths) >= wholeTenths {
		c.raw(strconv.FormatFloat(tenths/10, 'f', -1, 64))
		return
	}
	n := int64(tenths) // as short as FormatFloat has it, in a fraction of the time
	if n < 0 {
		c.raw("-")
		n = -n
	}
	c.whole(n / 10)
	if n%10 != 0 {
		c.b = append(c.b, '.', byte('0'+n%10))
	}
}

// whole writes a number from 0 up.
func (c *canvas) whole(n int64) {
	if n > 9 {
		c.whole(n / 10)
	}
	c.b = append(c.b, byte('0'+n%10))
}
