package pack

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"relevel/jobs/answers"
)

// front is the first page: whose job it is, what the pack rests on, and what is in it.
func (k Pack) front(f *flow) {
	a := k.Account
	f.page.Bookmark(1, a.Job, f.y)
	f.lines(f.doc.Root().Add("H1"), title, side, title.face.Lines(a.Job, title.size, f.wide()))
	f.y += 2
	f.say(body, "What was done under the floor, told from the record of the work.")
	f.gap(8)
	f.ledger([][2]string{{"Where", a.Place}, {"Who did it", a.Firm}, {"Record", asOf(a)}})
	if len(a.Cautions) > 0 {
		f.gap(6)
		f.say(note, a.Cautions[len(a.Cautions)-1])
	}
	f.contents()
	f.turn()
}

// ledger is a table of a few words each, without heads.
func (f *flow) ledger(rows [][2]string) {
	table := f.doc.Root().Add("Table")
	t := &ruled{f: f, columns: []column{{part: 1}, {part: 4}}, element: table}
	for _, r := range rows {
		if r[1] != "" {
			t.rows = append(t.rows, []cell{{text: r[0], ink: &pencil}, {text: r[1]}})
		}
	}
	t.measure()
	t.rule(ink, heavy)
	for i := range t.rows {
		t.row(i)
	}
	f.y += 4
}

// contents lists the sections with their pages. They are known from the first time
// of laying out, which leaves as much room as there will be sections.
func (f *flow) contents() {
	f.gap(20)
	f.lines(f.doc.Root().Add("H2"), third, side, []string{"What is in it"})
	f.y += 2
	list := f.doc.Root().Add("TOC")
	for _, h := range f.layout.contents {
		y := f.y + small.first() + 3
		number := fmt.Sprint(h.page)
		right := f.paper.Wide - side
		f.page.For(list.Add("TOCI"), func() {
			f.put(small, side, y, f.clip(small, h.words, f.wide()-40))
			f.put(small, right-small.face.Width(number, small.size), y, number)
		})
		f.y += small.leading + 5
		line := f.y
		f.page.Artifact(func() {
			f.page.Stroke(faint)
			f.page.Pen(hairline)
			f.page.Rule(side, line, right, line)
		})
	}
}

// asOf says what the pack rests on.
func asOf(a answers.Account) string {
	if a.AsOf.IsZero() {
		return "Nothing is recorded yet"
	}
	return fmt.Sprintf("As of %s, line %d of the book", a.AsOf.Format("2 January 2006, 15:04"), a.Seq)
}

func day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("2 January 2006")
}

// mostLines is how many lines of the book stand beside a figure.
const mostLines = 6

// bookLines names lines of the book, the first and the last where there are many.
func bookLines(seqs []int64) string {
	if len(seqs) > mostLines {
		return fmt.Sprintf("%d to %d, %d of them", slices.Min(seqs), slices.Max(seqs), len(seqs))
	}
	var words []string
	for _, s := range seqs {
		words = append(words, fmt.Sprint(s))
	}
	return strings.Join(words, ", ")
}

// upper begins with a large letter.
func upper(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}
