// Package inked draws on the page of a PDF what server/drawing wrote as SVG, with the
// ink that the pages' style sheets say: one drawing and one set of styles for screen
// and paper.
//
// It knows the tags, attributes and classes that those drawings are made of and no
// others. What it does not know is an error and is never left out: a drawing that
// lacks a line would be wrong and look right.
package inked

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"

	"relevel/server/pdf"
	"relevel/server/web"
)

// Drawing is an SVG that was read and can be drawn.
type Drawing struct {
	Label string // what it shows, in words
	Wide  float64
	High  float64
	root  *node
	x, y  float64 // of the top left
}

// node is an element of an SVG.
type node struct {
	tag     string
	classes []string
	attrs   map[string]string
	parent  *node
	kids    []*node
	text    string
}

// attributes are those that a drawing's tags have. Those that say nothing of how it
// looks are for pages and their readers.
var attributes = map[string]map[string]bool{
	"svg":    set("xmlns class width height viewBox role aria-label"),
	"g":      set("class href aria-label data-support"),
	"a":      set("class href aria-label data-support"),
	"title":  set(""),
	"text":   set("class x y text-anchor transform"),
	"tspan":  set("class dx"),
	"line":   set("class x1 y1 x2 y2"),
	"rect":   set("class x y width height"),
	"circle": set("class cx cy r"),
	"path":   set("class d data-room"),
}

func set(words string) map[string]bool {
	all := map[string]bool{}
	for word := range strings.FieldsSeq(words) {
		all[word] = true
	}
	return all
}

// noInk are the classes by which pages and scripts find a thing and that have no ink
// of their own.
var noInk = set("floor lines shading section stringline gapline small-floor glyph large support knot datum cut mark bar post height dot thin timeline says read")

// ink is the style sheet, read once.
var ink = sync.OnceValue(func() sheet { return parseSheet(web.Ink()) })

// Parse reads a drawing.
func Parse(svg string) (*Drawing, error) {
	root, err := parseNodes(svg)
	if err != nil {
		return nil, fmt.Errorf("read a drawing: %w", err)
	}
	d := &Drawing{Label: root.attrs["aria-label"], root: root}
	if _, err := fmt.Sscan(root.attrs["viewBox"], &d.x, &d.y, &d.Wide, &d.High); err != nil || d.Wide <= 0 || d.High <= 0 {
		return nil, fmt.Errorf("read a drawing: its viewBox is %q", root.attrs["viewBox"])
	}
	return d, nil
}

func parseNodes(svg string) (root *node, err error) {
	in := xml.NewDecoder(strings.NewReader(svg))
	var at *node
	for {
		token, err := in.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		switch t := token.(type) {
		case xml.StartElement:
			n, err := nodeOf(t, at)
			if err != nil {
				return nil, err
			}
			if root == nil {
				root = n
			}
			at = n
		case xml.EndElement:
			at = at.parent
		case xml.CharData:
			if at != nil && (at.tag == "text" || at.tag == "tspan" || at.tag == "title") {
				at.text += string(t)
			}
		}
	}
	if root == nil || root.tag != "svg" {
		return nil, errors.New("it is no SVG")
	}
	return root, nil
}

func nodeOf(t xml.StartElement, parent *node) (*node, error) {
	known, ok := attributes[t.Name.Local]
	if !ok {
		return nil, fmt.Errorf("a tag %s is not known", t.Name.Local)
	}
	n := &node{tag: t.Name.Local, attrs: map[string]string{}, parent: parent}
	for _, a := range t.Attr {
		if !known[a.Name.Local] {
			return nil, fmt.Errorf("an attribute %s of %s is not known", a.Name.Local, n.tag)
		}
		n.attrs[a.Name.Local] = a.Value
	}
	n.classes = strings.Fields(n.attrs["class"])
	for _, c := range n.classes {
		if !Knows(c) {
			return nil, fmt.Errorf("a class %s of %s is not known", c, n.tag)
		}
	}
	if parent != nil {
		parent.kids = append(parent.kids, n)
	}
	return n, nil
}

// Knows reports whether the style sheet has a class of drawings, or it is one without
// ink.
func Knows(class string) bool { return noInk[class] || ink().classes[class] }

// KnowsTag reports whether a tag with some attributes can be drawn.
func KnowsTag(tag string, attrs ...string) bool {
	known, ok := attributes[tag]
	for _, a := range attrs {
		ok = ok && known[a]
	}
	return ok
}

// Draw draws with the top left at x, y, larger or smaller.
func (d *Drawing) Draw(p *pdf.Page, x, y, scale float64) (err error) {
	p.Within(x-d.x*scale, y-d.y*scale, scale, func() {
		pen := &pen{page: p}
		err = pen.node(d.root, plain)
	})
	return err
}
