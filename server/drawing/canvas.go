package drawing

import (
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"
)

// canvas writes SVG. Every text and attribute is escaped on its way out.
type canvas struct{ b strings.Builder }

// start opens an SVG of a size, in which one unit is one px at full size.
func (c *canvas) start(class string, b box, label string) {
	c.open("svg", "xmlns", "http://www.w3.org/2000/svg", "class", class,
		"width", b.wide(), "height", b.high(),
		"viewBox", strings.Join([]string{num(b.x0), num(b.y0), num(b.wide()), num(b.high())}, " "),
		"role", "group", "aria-label", label)
}

func (c *canvas) finish() string {
	c.close("svg")
	return c.b.String()
}

// open writes a tag with its attributes, given as name, value, name, value.
func (c *canvas) open(tag string, attrs ...any) {
	c.tag(tag, attrs)
	c.b.WriteByte('>')
}

// close ends a tag. No line ends within a text, where it would show as a space.
func (c *canvas) close(tag string) {
	c.b.WriteString("</" + tag + ">")
	if tag != "tspan" {
		c.b.WriteByte('\n')
	}
}

func (c *canvas) empty(tag string, attrs ...any) {
	c.tag(tag, attrs)
	c.b.WriteString("/>\n")
}

func (c *canvas) tag(tag string, attrs []any) {
	c.b.WriteString("<" + tag)
	for i := 0; i+1 < len(attrs); i += 2 {
		value := ""
		switch v := attrs[i+1].(type) {
		case float64:
			value = num(v)
		case string:
			value = html.EscapeString(v)
		default:
			value = html.EscapeString(fmt.Sprint(v))
		}
		if value != "" {
			fmt.Fprintf(&c.b, ` %s="%s"`, attrs[i], value)
		}
	}
}

func (c *canvas) element(tag, content string, attrs ...any) {
	c.open(tag, attrs...)
	c.b.WriteString(html.EscapeString(content))
	c.close(tag)
}

func (c *canvas) line(class string, a, b point) {
	c.empty("line", "class", class, "x1", a.x, "y1", a.y, "x2", b.x, "y2", b.y)
}

func (c *canvas) rect(class string, b box) {
	c.empty("rect", "class", class, "x", b.x0, "y", b.y0, "width", b.wide(), "height", b.high())
}

// shape draws straight lines through points, closed when it ends where it began.
func (c *canvas) shape(class string, closed bool, points ...point) {
	if len(points) == 0 {
		return
	}
	var d strings.Builder
	for i, p := range points {
		d.WriteString(string("ML"[min(i, 1)]) + num(p.x) + " " + num(p.y))
	}
	if closed {
		d.WriteByte('Z')
	}
	c.empty("path", "class", class, "d", d.String())
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

// num writes a coordinate to a tenth of a px. What is no number is drawn at 0
// rather than breaking the whole drawing.
func num(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		v = 0
	}
	v = math.Round(v*10) / 10
	if v == 0 {
		v = 0 // not the negative zero
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}
