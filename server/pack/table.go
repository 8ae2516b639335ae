package pack

import (
	"relevel/server/pdf"
)

// column is one of a table.
type column struct {
	head  string
	part  float64 // of the width of all
	right bool    // figures are set to the right
}

// cell is what stands in a column: words, or a figure with its ± behind it.
type cell struct {
	text string
	pm   string
	ink  *pdf.Colour // nil is drawing ink
}

// ruled is a table as a level book has it: heads over a heavy line, rows over faint
// ones, figures one below the other.
type ruled struct {
	f       *flow
	columns []column
	rows    [][]cell
	strong  map[int]bool // rows with a line of ink above them
	x, w    []float64    // of each column
	pm      []float64    // the widest ± of each
	element *pdf.Element
	headed  bool // the head was drawn once
}

const (
	cellGap = 7.0 // between two columns
	rowPad  = 2.6 // above and below the words of a row
)

// table draws a table, its head on each page anew.
func (f *flow) table(columns []column, rows [][]cell, strong map[int]bool) {
	t := &ruled{f: f, columns: columns, rows: rows, strong: strong, element: f.doc.Root().Add("Table")}
	t.measure()
	t.head()
	for i := range rows {
		t.row(i)
	}
	f.y += 6
}

func (t *ruled) measure() {
	all := 0.0
	for _, c := range t.columns {
		all += c.part
	}
	x, room := side, t.f.wide()-cellGap*float64(len(t.columns)-1)
	for i, c := range t.columns {
		t.x, t.w = append(t.x, x), append(t.w, room*c.part/all)
		x += t.w[i] + cellGap
		widest := 0.0
		for _, r := range t.rows {
			widest = max(widest, small.face.Width(r[i].pm, pmSize))
		}
		t.pm = append(t.pm, widest)
	}
}

// pmSize is the size of the ± beside a figure.
const pmSize = 6.5

// head draws the heads of the columns. They are read out once; on later pages they
// are there to be seen.
func (t *ruled) head() {
	lines, high := t.headLines()
	t.f.need(high + 3*small.leading)
	draw := func(i int) {
		for j, line := range lines[i] {
			x := t.x[i]
			if t.columns[i].right {
				x += t.w[i] - smallBold.face.Width(line, smallBold.size)
			}
			y := t.f.y + high - rowPad - smallBold.leading*float64(len(lines[i])-j) + smallBold.first()
			t.f.put(smallBold, x, y, line)
		}
	}
	if t.headed {
		t.f.page.Artifact(func() {
			for i := range t.columns {
				draw(i)
			}
		})
	} else {
		row := t.element.Add("TR")
		for i := range t.columns {
			th := row.Add("TH")
			th.Heads = "Column"
			t.f.page.For(th, func() { draw(i) })
		}
	}
	t.headed = true
	t.f.y += high
	t.rule(ink, heavy)
}

func (t *ruled) headLines() (lines [][]string, high float64) {
	for i, c := range t.columns {
		words := smallBold.face.Lines(c.head, smallBold.size, t.w[i])
		lines = append(lines, words)
		high = max(high, float64(len(words))*smallBold.leading+2*rowPad)
	}
	return lines, high
}

func (t *ruled) rule(c pdf.Colour, wide float64) {
	f := t.f
	f.page.Artifact(func() {
		f.page.Stroke(c)
		f.page.Pen(wide)
		f.page.Rule(side, f.y, f.paper.Wide-side, f.y)
	})
}

// row draws one row, over several pages where its words are longer than one.
func (t *ruled) row(i int) {
	f := t.f
	lines, most := t.rowLines(i)
	high := float64(most)*small.leading + 2*rowPad
	if f.y+high > f.floor() && (high <= f.tall()/2 || f.y+2*small.leading > f.floor()) {
		t.over()
	} else if t.strong[i] {
		t.rule(ink, hairline)
	}
	row := t.element.Add("TR")
	cells := make([]*pdf.Element, len(t.columns))
	for c := range t.columns {
		cells[c] = row.Add("TD")
	}
	cells[0].Tag, cells[0].Heads = "TH", "Row"
	for from := 0; from < most; {
		fit := max(int((f.floor()-f.y-2*rowPad+0.01)/small.leading), 1)
		to := min(from+fit, most)
		for c := range t.columns {
			t.cell(cells[c], i, c, lines[c][min(from, len(lines[c])):min(to, len(lines[c]))])
		}
		f.y += float64(to-from)*small.leading + 2*rowPad
		if from = to; from < most {
			t.over()
		}
	}
	t.rule(faint, hairline)
}

// over goes on with the table on another page.
func (t *ruled) over() {
	t.f.turn()
	t.head()
}

func (t *ruled) rowLines(i int) (lines [][]string, most int) {
	for c := range t.columns {
		words := small.face.Lines(t.rows[i][c].text, small.size, t.w[c]-t.pm[c])
		lines = append(lines, words)
		most = max(most, len(words))
	}
	return lines, most
}

// cell writes some lines of a cell; the ± goes with the last.
func (t *ruled) cell(e *pdf.Element, i, c int, lines []string) {
	f, of := t.f, t.rows[i][c]
	s := small
	if of.ink != nil {
		s.ink = *of.ink
	}
	if len(lines) == 0 || of.text == "" {
		return
	}
	f.page.For(e, func() {
		for j, line := range lines {
			x, y := t.x[c], f.y+rowPad+s.first()+float64(j)*s.leading
			wide := s.face.Width(line, s.size)
			if t.columns[c].right {
				x += t.w[c] - t.pm[c] - wide
			}
			f.put(s, x, y, line)
			if of.pm != "" && j == len(lines)-1 {
				f.put(setting{s.face, pmSize, s.leading, pencil}, x+wide+1, y, of.pm)
			}
		}
	})
}
