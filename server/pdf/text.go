package pdf

import (
	"cmp"
	"crypto/sha256"
	"fmt"
	"slices"
	"strings"
	"unicode/utf16"
)

// embedded is a face as a document uses it.
type embedded struct {
	face *typeface
	id   int             // object, 0 while it is not used
	used map[uint16]rune // glyphs, and what each stands for
}

func (d *Document) fontID(f int) int {
	if d.fonts[f].id == 0 {
		d.fonts[f].id = d.reserve()
	}
	return d.fonts[f].id
}

// Text writes a text with its foot at y, beginning at x. A letter that the face lacks
// is drawn as a square, and whoever searches or copies the text finds the letter.
func (p *Page) Text(f Face, size, x, y float64, s string) {
	if s == "" {
		return
	}
	opened()
	p.fonts[f] = true
	use := p.doc.fonts[f]
	if use.used == nil {
		use.used = map[uint16]rune{}
	}
	p.op("BT")
	p.op(fmt.Sprintf("/F%d %s Tf", f, num(size)))
	p.op("Tm", 1, 0, 0, -1, x, y)
	all := lettersOf(use.face, s)
	for from := 0; from < len(all); {
		to := from + 1
		for to < len(all) && all[to].stands == all[from].stands {
			to++
		}
		p.show(use, all[from:to])
		from = to
	}
	p.op("ET")
}

// show writes letters that are all in the face, or all stood for.
func (p *Page) show(use *embedded, letters []letter) {
	var glyphs strings.Builder
	actual := make([]rune, len(letters))
	for i, l := range letters {
		fmt.Fprintf(&glyphs, "%04x", l.glyph)
		actual[i] = l.r
		if l.stands {
			use.used[l.glyph] = square
		} else {
			use.used[l.glyph] = l.r
		}
	}
	if letters[0].stands {
		p.op("/Span <</ActualText " + text(string(actual)) + ">> BDC")
		defer p.op("EMC")
	}
	p.op("<" + glyphs.String() + "> Tj")
}

// Halo draws the edge of a text with the pen, for letters that stand over lines.
func (p *Page) Halo(f Face, size, x, y float64, s string) {
	opened()
	p.outline(faces[f], s, x, y, size)
	p.Draw(false, true)
}

// writeFonts writes the faces that were used, each cut down to its used glyphs.
func (d *Document) writeFonts() {
	for _, f := range d.fonts {
		if f.id > 0 {
			d.writeFont(f)
		}
	}
}

func (d *Document) writeFont(f *embedded) {
	glyphs := make([]uint16, 0, len(f.used))
	for g := range f.used {
		glyphs = append(glyphs, g)
	}
	slices.Sort(glyphs)
	file := f.face.subset(glyphs)
	name := f.tag(glyphs) + "+" + f.face.name
	data := d.reserve()
	d.packed(data, fmt.Sprintf(" /Length1 %d", len(file)), file)
	m := f.face.metric()
	flags := 32 // not symbolic (9.8.2)
	if f.face.angle != 0 {
		flags |= 64
	}
	descriptor := d.add(fmt.Sprintf("<</Type /FontDescriptor /FontName /%s /Flags %d /FontBBox [%s %s %s %s] /ItalicAngle %s /Ascent %s /Descent %s /CapHeight %s /StemV %d /FontFile2 %d 0 R>>",
		name, flags, num(m.box[0]), num(m.box[1]), num(m.box[2]), num(m.box[3]), num(f.face.angle), num(m.ascent), num(m.descent), num(m.capital), f.face.stem, data))
	cid := d.add(fmt.Sprintf("<</Type /Font /Subtype /CIDFontType2 /BaseFont /%s /CIDSystemInfo <</Registry (Adobe) /Ordering (Identity) /Supplement 0>> /FontDescriptor %d 0 R /CIDToGIDMap /Identity /DW 0 /W [%s]>>",
		name, descriptor, f.widths(glyphs)))
	means := d.reserve()
	d.packed(means, "", []byte(f.meanings(glyphs)))
	d.object(f.id, fmt.Sprintf("<</Type /Font /Subtype /Type0 /BaseFont /%s /Encoding /Identity-H /DescendantFonts [%d 0 R] /ToUnicode %d 0 R>>", name, cid, means))
}

// tag tells one choice of glyphs from others (9.6.4).
func (f *embedded) tag(glyphs []uint16) string {
	sum := sha256.Sum256(fmt.Append(nil, glyphs))
	var out [6]byte
	for i := range out {
		out[i] = 'A' + sum[i]%26
	}
	return string(out[:])
}

func (f *embedded) widths(glyphs []uint16) string {
	var b strings.Builder
	for _, g := range glyphs {
		fmt.Fprintf(&b, "%d [%s] ", g, num(f.face.advance(g)))
	}
	return b.String()
}

// meanings is the table by which glyphs are searched and copied (9.10.3).
func (f *embedded) meanings(glyphs []uint16) string {
	var b strings.Builder
	b.WriteString("/CIDInit /ProcSet findresource begin 12 dict begin begincmap\n" +
		"/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n" +
		"/CMapName /Adobe-Identity-UCS def /CMapType 2 def\n" +
		"1 begincodespacerange <0000> <ffff> endcodespacerange\n")
	for part := range slices.Chunk(glyphs, 100) { // as many as one list may have
		fmt.Fprintf(&b, "%d beginbfchar\n", len(part))
		for _, g := range part {
			fmt.Fprintf(&b, "<%04x> <", g)
			for _, u := range utf16.Encode([]rune{f.used[g]}) {
				fmt.Fprintf(&b, "%04x", u)
			}
			b.WriteString(">\n")
		}
		b.WriteString("endbfchar\n")
	}
	b.WriteString("endcmap CMapName currentdict /CMap defineresource pop end end")
	return b.String()
}

// Lines breaks a text into lines of at most a width, at spaces, and within a word
// where it is longer than a line. There is always one line.
func (f Face) Lines(s string, size, wide float64) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsSeq(Plain(s)) {
		if longer := strings.TrimPrefix(line+" "+word, " "); f.Width(longer, size) <= wide {
			line = longer
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for line = word; f.Width(line, size) > wide; {
			at := f.fits(line, size, wide)
			lines, line = append(lines, line[:at]), line[at:]
		}
	}
	if line != "" || len(lines) == 0 {
		lines = append(lines, line)
	}
	return lines
}

// fits is how many bytes of a word a line holds, one letter at least.
func (f Face) fits(word string, size, wide float64) int {
	opened()
	sum, first := 0.0, true
	for i, r := range word {
		sum += faces[f].advance(cmp.Or(faces[f].glyph(r), faces[f].glyph(square))) * size / 1000
		if sum > wide && !first {
			return i
		}
		first = false
	}
	return len(word)
}
