package pack

import (
	"context"
	"fmt"
	"io"
	"strings"

	"relevel/events"
	"relevel/server/pdf"
)

// Measures of a sheet, in points.
const (
	side     = 56.0 // margins
	top      = 70.0
	bottom   = 62.0
	headAt   = 42.0 // the running head's foot
	footUp   = 34.0 // the page number's foot above the edge
	hairline = 0.4  // the two weights of line
	heavy    = 1.2
)

// The inks: drawing ink, pencil, and the faint line between rows.
var (
	ink    = pdf.Black
	pencil = pdf.Colour{R: 0x48, G: 0x4b, B: 0x50}
	faint  = pdf.Colour{R: 0xa8, G: 0xa8, B: 0xa8}
)

// setting is how a text is set: face, size, and from one line's foot to the next.
type setting struct {
	face    pdf.Face
	size    float64
	leading float64
	ink     pdf.Colour
}

var (
	body      = setting{pdf.Regular, 10, 14.5, ink}
	note      = setting{pdf.Regular, 8.5, 12, pencil}
	small     = setting{pdf.Regular, 8, 11, ink}
	smallBold = setting{pdf.Bold, 8, 11, ink}
	title     = setting{pdf.Bold, 24, 29, ink}
	second    = setting{pdf.Bold, 13.5, 18, ink}
	third     = setting{pdf.Bold, 10, 14.5, ink}
	caption   = setting{pdf.Bold, 9, 12, ink}
	running   = setting{pdf.Regular, 8, 11, pencil}
	code      = setting{pdf.Mono, 7.5, 11, ink}
)

// flow lays out one thing after the other, page by page.
type flow struct {
	ctx context.Context
	layout
	pack     Pack
	paper    pdf.Paper
	doc      *pdf.Document
	page     *pdf.Page
	y        float64 // the top of what comes next
	headings []heading
	photos   map[events.Digest]*pdf.Image
	missing  bool // some letters are shown as squares
	err      error
}

func newFlow(ctx context.Context, w io.Writer, k Pack, l layout) *flow {
	f := &flow{ctx: ctx, layout: l, pack: k, paper: k.Paper.sheet(), doc: pdf.New(w, k.about()), photos: map[events.Digest]*pdf.Image{}}
	f.turn()
	return f
}

func (f *flow) wide() float64  { return f.paper.Wide - 2*side }
func (f *flow) floor() float64 { return f.paper.High - bottom }

// tall is the room of a whole page.
func (f *flow) tall() float64 { return f.floor() - top }

// turn begins a page.
func (f *flow) turn() {
	f.page = f.doc.Page(f.paper)
	f.y = top
	number := f.page.Number()
	f.page.Artifact(func() { f.frame(number) })
	if f.told != nil {
		f.told(number, f.of)
	}
}

// frame writes what stands around each page: whose job it is, as of when, and which
// page of how many. The first has its title instead of a head.
func (f *flow) frame(number int) {
	a := f.pack.Account
	right := f.paper.Wide - side
	f.page.Stroke(ink)
	f.page.Pen(hairline)
	if number > 1 {
		f.put(running, side, headAt, f.clip(running, a.Job, f.wide()*0.6))
		firm := f.clip(running, a.Firm, f.wide()*0.38)
		f.put(running, right-running.face.Width(firm, running.size), headAt, firm)
		f.page.Rule(side, headAt+6, right, headAt+6)
	}
	y := f.paper.High - footUp
	f.page.Rule(side, y-13, right, y-13)
	f.put(running, side, y, f.clip(running, asOf(a), f.wide()*0.75))
	of := fmt.Sprintf("%d of %d", number, f.of)
	f.put(running, right-running.face.Width(of, running.size), y, of)
}

// put writes one line with its foot at y.
func (f *flow) put(s setting, x, y float64, words string) {
	f.missing = f.missing || !s.face.Has(words)
	f.page.Fill(s.ink)
	f.page.Text(s.face, s.size, x, y, words)
}

// clip shortens what has to stand in one line.
func (f *flow) clip(s setting, words string, wide float64) string {
	if s.face.Width(words, s.size) <= wide {
		return words
	}
	lines := s.face.Lines(words, s.size, wide-s.face.Width(" …", s.size))
	return lines[0] + " …"
}

// need turns the page unless there is room for so much.
func (f *flow) need(high float64) {
	if f.y+high > f.floor() && f.y > top {
		f.turn()
	}
}

// gap leaves room, but not at the top of a page.
func (f *flow) gap(high float64) {
	if f.y > top {
		f.y += high
	}
}

// heading begins a section: a line across the sheet and its words, never alone at the
// foot of a page. keep is the room that what follows needs at least.
func (f *flow) heading(words string, keep float64) {
	lines := second.face.Lines(words, second.size, f.wide())
	high := float64(len(lines)) * second.leading
	f.need(24 + 12 + high + keep)
	f.gap(24)
	f.page.Bookmark(1, words, f.y-4)
	f.headings = append(f.headings, heading{words, f.page.Number()})
	y := f.y
	f.page.Artifact(func() {
		f.page.Stroke(ink)
		f.page.Pen(heavy)
		f.page.Rule(side, y, f.paper.Wide-side, y)
	})
	f.y += 8
	f.lines(f.doc.Root().Add("H2"), second, side, lines)
	f.y += 4
}

// under is a heading within a section.
func (f *flow) under(words string, keep float64) {
	lines := third.face.Lines(words, third.size, f.wide())
	f.need(10 + float64(len(lines))*third.leading + keep)
	f.gap(10)
	f.page.Bookmark(2, words, f.y-4)
	f.lines(f.doc.Root().Add("H3"), third, side, lines)
	f.y += 2
}

// lines writes lines below each other where there is room for all of them.
func (f *flow) lines(e *pdf.Element, s setting, x float64, lines []string) {
	f.page.For(e, func() {
		for i, line := range lines {
			f.put(s, x, f.y+s.first()+float64(i)*s.leading, line)
		}
	})
	f.y += float64(len(lines)) * s.leading
}

// first is how far the first line's foot lies below the top of a text.
func (s setting) first() float64 { return (s.leading-s.size)/2 + s.size*0.82 }

// say writes a paragraph. It leaves no single line of it on a page.
func (f *flow) say(s setting, words string) {
	f.sayIn(f.doc.Root().Add("P"), s, words)
	f.y += s.leading * 0.42
}

func (f *flow) sayIn(e *pdf.Element, s setting, words string) {
	lines := s.face.Lines(words, s.size, min(f.wide(), measure*s.size))
	for len(lines) > 0 {
		n := int((f.floor() - f.y + 0.01) / s.leading)
		switch left := len(lines) - n; {
		case left <= 0:
			n = len(lines)
		case left == 1 && n > 2:
			n-- // so that two go over
		}
		if n < 1 || n == 1 && len(lines) > 1 {
			f.turn()
			continue
		}
		f.lines(e, s, side, lines[:n])
		lines = lines[n:]
	}
}

// measure is how long a line may be, in sizes of its letters: longer ones are hard to
// follow back.
const measure = 46

// typed writes lines as they are, each by itself, a longer one broken.
func (f *flow) typed(s setting, text string) {
	e := f.doc.Root().Add("P")
	for line := range strings.Lines(text) {
		for _, part := range s.face.Lines(strings.TrimRight(line, "\n"), s.size, f.wide()) {
			f.need(s.leading)
			if part == "" {
				f.y += s.leading
				continue
			}
			f.lines(e, s, side, []string{part})
		}
	}
}
