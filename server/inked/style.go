package inked

import (
	"fmt"
	"strconv"
	"strings"

	"relevel/server/pdf"
)

// style is how one element is drawn.
type style struct {
	fill, stroke paint
	wide         float64
	dash         []float64
	roundEnds    bool
	roundJoins   bool
	size         float64
	bold, italic bool
	halo         bool // the edge of letters is drawn first, and the letters over it
}

// paint is a colour, or none.
type paint struct {
	colour pdf.Colour
	some   bool
}

// plain is how SVG draws what nobody says anything of.
var plain = style{fill: paint{some: true}, wide: 1, size: 16}

// styleOf is the style of an element: that of what it stands in, where it is handed on,
// and what the rules say of it. All that these drawings say is handed on.
func styleOf(n *node, inherited style) (style, error) {
	s := inherited
	for _, r := range ink().rules {
		if !r.fits(n) {
			continue
		}
		for _, d := range r.says {
			if err := s.take(d); err != nil {
				return s, fmt.Errorf("style of %s.%s: %w", n.tag, strings.Join(n.classes, "."), err)
			}
		}
	}
	return s, nil
}

// take takes in one declaration.
func (s *style) take(d declaration) (err error) {
	v := resolved(d.value)
	switch d.name {
	case "fill":
		s.fill, err = paintOf(v)
	case "stroke":
		s.stroke, err = paintOf(v)
	case "stroke-width":
		s.wide, err = lengthOf(v)
	case "stroke-dasharray":
		s.dash, err = lengthsOf(v)
	case "stroke-linecap":
		s.roundEnds = v == "round"
	case "stroke-linejoin":
		s.roundJoins = v == "round"
	case "font":
		err = s.takeFont(v)
	case "font-size":
		s.size, err = lengthOf(v)
	case "font-weight":
		s.bold, err = boldOf(v)
	case "font-style":
		s.italic = v == "italic"
	case "paint-order":
		s.halo = v == "stroke"
	default:
		err = fmt.Errorf("a property %s is not known", d.name)
	}
	return err
}

// takeFont takes in "13px/1 letters"; what it does not name is as usual.
func (s *style) takeFont(v string) (err error) {
	size, _, _ := strings.Cut(v, "/")
	s.bold, s.italic = false, false
	s.size, err = lengthOf(size)
	return err
}

// resolved puts in what variables stand for.
func resolved(v string) string {
	for range 8 { // a variable may stand for others, and never for itself
		from := strings.Index(v, "var(")
		if from < 0 {
			break
		}
		to := from + strings.IndexByte(v[from:], ')')
		v = v[:from] + ink().vars[v[from+len("var("):to]] + v[to+1:]
	}
	return v
}

func paintOf(v string) (paint, error) {
	if v == "none" {
		return paint{}, nil
	}
	hex, isHex := strings.CutPrefix(v, "#")
	if len(hex) == 3 {
		hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
	}
	n, err := strconv.ParseUint(hex, 16, 24)
	if err != nil || !isHex || len(hex) != 6 {
		return paint{}, fmt.Errorf("a colour %q is not known", v)
	}
	return paint{pdf.Colour{R: uint8(n >> 16), G: uint8(n >> 8), B: uint8(n)}, true}, nil
}

func lengthOf(v string) (float64, error) {
	return strconv.ParseFloat(strings.TrimSuffix(v, "px"), 64)
}

func lengthsOf(v string) (all []float64, err error) {
	for part := range strings.FieldsSeq(v) {
		n, err := lengthOf(part)
		if err != nil {
			return nil, err
		}
		all = append(all, n)
	}
	return all, nil
}

// boldFrom is the weight from which letters are set in the bold face.
const boldFrom = 600

func boldOf(v string) (bool, error) {
	n, err := strconv.Atoi(v)
	return n >= boldFrom, err
}

// face is the one that letters are set in.
func (s style) face() pdf.Face {
	switch {
	case s.bold:
		return pdf.Bold
	case s.italic:
		return pdf.Italic
	}
	return pdf.Regular
}
