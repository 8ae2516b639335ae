package inked

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"relevel/server/pdf"
)

// pen draws elements one after another.
type pen struct{ page *pdf.Page }

func (p *pen) node(n *node, inherited style) error {
	s, err := styleOf(n, inherited)
	if err != nil {
		return err
	}
	switch n.tag {
	case "title": // for those who listen
		return nil
	case "text":
		return p.text(n, s)
	case "svg", "g", "a":
		for _, k := range n.kids {
			if err := p.node(k, s); err != nil {
				return err
			}
		}
		return nil
	}
	if !s.fill.some && !s.stroke.some {
		return nil
	}
	if err := p.figure(n, s); err != nil {
		return fmt.Errorf("%s: %w", n.tag, err)
	}
	return nil
}

// figure draws a line, an area or a path.
func (p *pen) figure(n *node, s style) error {
	p.set(s)
	at, err := n.numbers()
	if err != nil {
		return err
	}
	switch n.tag {
	case "line":
		if !s.stroke.some {
			return nil
		}
		p.page.Rule(at("x1"), at("y1"), at("x2"), at("y2"))
		return nil
	case "rect":
		p.page.Rect(at("x"), at("y"), at("width"), at("height"))
	case "circle":
		p.page.Circle(at("cx"), at("cy"), at("r"))
	case "path":
		if err := p.path(n.attrs["d"]); err != nil {
			return err
		}
	default:
		return fmt.Errorf("a %s is no figure", n.tag)
	}
	p.page.Draw(s.fill.some, s.stroke.some)
	return nil
}

// set takes up the ink of a style.
func (p *pen) set(s style) {
	if s.fill.some {
		p.page.Fill(s.fill.colour)
	}
	if s.stroke.some {
		p.page.Stroke(s.stroke.colour)
		p.page.Pen(s.wide)
		p.page.Dash(s.dash...)
		p.page.Round(s.roundEnds, s.roundJoins)
	}
}

// numbers reads the attributes that are numbers, all but the words.
func (n *node) numbers() (func(name string) float64, error) {
	values := map[string]float64{}
	for name, v := range n.attrs {
		switch name {
		case "class", "d", "text-anchor", "transform", "data-room":
			continue
		}
		f, err := strconv.ParseFloat(v, 64)
		if err != nil {
			return nil, fmt.Errorf("%s is %q", name, v)
		}
		values[name] = f
	}
	return func(name string) float64 { return values[name] }, nil
}

// run is a piece of a text in one style.
type run struct {
	text string
	s    style
	dx   float64
}

// text writes a text, with its spans one behind the other.
func (p *pen) text(n *node, s style) error {
	at, err := n.numbers()
	if err != nil {
		return err
	}
	runs := []run{{n.text, s, 0}}
	for _, k := range n.kids {
		ks, err := styleOf(k, s)
		if err != nil {
			return err
		}
		kat, err := k.numbers()
		if err != nil {
			return err
		}
		runs = append(runs, run{k.text, ks, kat("dx")})
	}
	x, y, wide := at("x"), at("y"), 0.0
	for _, r := range runs {
		wide += r.dx + r.s.face().Width(r.text, r.s.size)
	}
	switch n.attrs["text-anchor"] {
	case "middle":
		x -= wide / 2
	case "end":
		x -= wide
	case "":
	default:
		return fmt.Errorf("a text-anchor %q is not known", n.attrs["text-anchor"])
	}
	return p.turned(n, func() {
		for _, r := range runs {
			x += r.dx
			p.run(r, x, y)
			x += r.s.face().Width(r.text, r.s.size)
		}
	})
}

// turned draws as a text's transform says: not at all, or turned about a point.
func (p *pen) turned(n *node, draw func()) error {
	how := n.attrs["transform"]
	if how == "" {
		draw()
		return nil
	}
	var angle, x, y float64
	if _, err := fmt.Sscanf(how, "rotate(%g %g %g)", &angle, &x, &y); err != nil {
		return fmt.Errorf("a transform %q is not known", how)
	}
	p.page.Turned(angle*math.Pi/180, x, y, draw)
	return nil
}

func (p *pen) run(r run, x, y float64) {
	if r.text == "" || !r.s.fill.some {
		return
	}
	p.set(r.s)
	if r.s.halo && r.s.stroke.some {
		p.page.Halo(r.s.face(), r.s.size, x, y, r.text)
	}
	p.page.Text(r.s.face(), r.s.size, x, y, r.text)
}

// path draws what a path's d says. Drawings use straight lines, whole or by one
// coordinate, and quarter circles for the swing of doors.
func (p *pen) path(d string) error {
	words := pathWords(d)
	var x, y, fromX, fromY float64
	for i := 0; i < len(words); {
		command := words[i]
		count, known := map[string]int{"M": 2, "L": 2, "H": 1, "V": 1, "h": 1, "v": 1, "A": 7, "Z": 0, "z": 0}[command]
		if !known || i+count >= len(words) {
			return fmt.Errorf("a path with %q is not known", command)
		}
		n := make([]float64, count)
		for j := range n {
			v, err := strconv.ParseFloat(words[i+1+j], 64)
			if err != nil {
				return fmt.Errorf("a path: %w", err)
			}
			n[j] = v
		}
		i += 1 + count
		switch command {
		case "M":
			x, y = n[0], n[1]
			fromX, fromY = x, y
			p.page.Move(x, y)
			continue
		case "Z", "z":
			x, y = fromX, fromY
			p.page.Shut()
			continue
		case "A":
			p.quarter(x, y, n)
			x, y = n[5], n[6]
			continue
		case "L":
			x, y = n[0], n[1]
		case "H":
			x = n[0]
		case "V":
			y = n[0]
		case "h":
			x += n[0]
		case "v":
			y += n[0]
		}
		p.page.Line(x, y)
	}
	return nil
}

// quarter draws a quarter of a circle, clockwise on the drawing, from a point to
// where the last two numbers say.
func (p *pen) quarter(x, y float64, n []float64) {
	const k = 0.5523 // 4/3·(√2−1)
	toX, toY := n[5], n[6]
	// The centre lies to the right of the way there: the two corners of the square
	// over the chord are the centre and where both tangents meet.
	midX, midY := (x+toX)/2, (y+toY)/2
	cornerX, cornerY := midX+(toY-y)/2, midY-(toX-x)/2
	p.page.Curve(x+(cornerX-x)*k, y+(cornerY-y)*k, toX+(cornerX-toX)*k, toY+(cornerY-toY)*k, toX, toY)
}

// pathWords parts a path into its commands and numbers.
func pathWords(d string) (words []string) {
	number := ""
	end := func() {
		if number != "" {
			words = append(words, number)
			number = ""
		}
	}
	for _, r := range d {
		switch {
		case r == ' ' || r == ',':
			end()
		case r == '-' && number != "" && !strings.HasSuffix(number, "e"):
			end()
			number = "-"
		case r == '-' || r == '.' || r >= '0' && r <= '9':
			number += string(r)
		default:
			end()
			words = append(words, string(r))
		}
	}
	end()
	return words
}
