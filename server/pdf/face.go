package pdf

import (
	"encoding/binary"
	"fmt"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goitalic"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Face is a typeface, of the Go fonts: free, of one family, with figures of equal
// width, and with all letters of the Latin, Greek and Cyrillic scripts of Europe and
// of Māori, ≥ − ± × ½ and the eighths (WGL4). What else a name may be written in they
// lack.
type Face int

// The faces.
const (
	Regular Face = iota
	Bold
	Italic
	Mono // for codes that are compared letter by letter
)

// typeface is what is read of a face once.
type typeface struct {
	name   string
	file   []byte
	angle  float64 // of italics, degrees
	stem   int     // how thick an upright is, of 1000: for readers that have to imitate it
	font   *sfnt.Font
	tables map[string][]byte
	units  float64 // of the em
	glyphs []uint16
}

var faces = []*typeface{
	Regular: {name: "GoRegular", file: goregular.TTF, stem: 88},
	Bold:    {name: "GoBold", file: gobold.TTF, stem: 140},
	Italic:  {name: "GoItalic", file: goitalic.TTF, angle: -10, stem: 80},
	Mono:    {name: "GoMono", file: gomono.TTF, stem: 80},
}

// opened reads the faces when the first text is measured.
var opened = sync.OnceFunc(func() {
	for _, f := range faces {
		if err := f.open(); err != nil {
			panic(fmt.Sprintf("pdf: %s: %v", f.name, err)) // it is part of the program
		}
	}
})

func (f *typeface) open() (err error) {
	if f.font, err = sfnt.Parse(f.file); err != nil {
		return err
	}
	f.units = float64(f.font.UnitsPerEm())
	f.tables = map[string][]byte{}
	n := int(binary.BigEndian.Uint16(f.file[4:]))
	for i := range n {
		entry := f.file[12+16*i:]
		at, long := binary.BigEndian.Uint32(entry[8:]), binary.BigEndian.Uint32(entry[12:])
		f.tables[string(entry[:4])] = f.file[at : at+long]
	}
	var buf sfnt.Buffer
	f.glyphs = make([]uint16, 1<<16) // they have no letters beyond
	for r := range f.glyphs {
		g, err := f.font.GlyphIndex(&buf, rune(r))
		if err != nil {
			return err
		}
		f.glyphs[r] = uint16(g)
	}
	return nil
}

// glyph is the number of a letter's drawing, 0 where the face has none.
func (f *typeface) glyph(r rune) uint16 {
	if int(r) >= len(f.glyphs) {
		return 0
	}
	return f.glyphs[r]
}

// advance is how far a glyph moves on, of 1000.
func (f *typeface) advance(g uint16) float64 {
	hhea, hmtx := f.tables["hhea"], f.tables["hmtx"]
	long := binary.BigEndian.Uint16(hhea[34:])
	g = min(g, long-1) // those behind the last are as wide as it
	return float64(binary.BigEndian.Uint16(hmtx[4*int(g):])) * 1000 / f.units
}

// signed reads one of a table's numbers, scaled to 1000 the em.
func (f *typeface) signed(table string, at int) float64 {
	return float64(int16(binary.BigEndian.Uint16(f.tables[table][at:]))) * 1000 / f.units
}

// Ascent is how far letters reach above their foot, of the size.
func (f Face) Ascent() float64 {
	opened()
	return faces[f].signed("hhea", 4) / 1000
}

// Width is how long a text is in a face at a size.
func (f Face) Width(s string, size float64) float64 {
	opened()
	sum := 0.0
	for _, l := range lettersOf(faces[f], s) {
		sum += faces[f].advance(l.glyph)
	}
	return sum * size / 1000
}

// Has reports whether a face can show all of a text as it is.
func (f Face) Has(s string) bool {
	opened()
	for _, l := range lettersOf(faces[f], s) {
		if l.stands {
			return false
		}
	}
	return true
}

// outline draws the edges of a text as a path, for what is drawn around letters.
func (p *Page) outline(f *typeface, s string, x, y, size float64) {
	var buf sfnt.Buffer
	at := func(q fixed.Point26_6) (float64, float64) {
		return x + float64(q.X)/64*size/1000, y + float64(q.Y)/64*size/1000
	}
	for _, l := range lettersOf(f, s) {
		segments, err := f.font.LoadGlyph(&buf, sfnt.GlyphIndex(l.glyph), fixed.I(1000), nil)
		if err != nil {
			continue // it has no edges
		}
		for i, seg := range segments {
			x1, y1 := at(seg.Args[0])
			x2, y2 := at(seg.Args[1])
			switch seg.Op {
			case sfnt.SegmentOpMoveTo:
				if i > 0 {
					p.Shut()
				}
				p.Move(x1, y1)
				p.pen = [2]float64{x1, y1}
			case sfnt.SegmentOpLineTo:
				p.Line(x1, y1)
				p.pen = [2]float64{x1, y1}
			case sfnt.SegmentOpQuadTo: // PDF has cubic curves only
				x0, y0 := p.pen[0], p.pen[1]
				p.Curve(x0+(x1-x0)*2/3, y0+(y1-y0)*2/3, x2+(x1-x2)*2/3, y2+(y1-y2)*2/3, x2, y2)
				p.pen = [2]float64{x2, y2}
			}
		}
		if len(segments) > 0 {
			p.Shut()
		}
		x += f.advance(l.glyph) * size / 1000
	}
}

// metric is what a descriptor says of a face's height, of 1000.
type metric struct {
	box                      [4]float64
	ascent, descent, capital float64
}

func (f *typeface) metric() metric {
	var m metric
	for i := range m.box {
		m.box[i] = f.signed("head", 36+2*i)
	}
	m.ascent, m.descent = f.signed("hhea", 4), f.signed("hhea", 6)
	bounds, _, err := f.font.GlyphBounds(nil, sfnt.GlyphIndex(f.glyph('H')), fixed.I(1000), font.HintingNone)
	if err == nil {
		m.capital = -float64(bounds.Min.Y) / 64
	}
	return m
}
