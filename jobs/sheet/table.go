package sheet

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
	"unicode/utf8"

	"relevel/levelling"
)

// table is a sheet as rows of cells under headings.
type table struct {
	columns []column
	place   map[string]int // of a column by its name
	rows    []row
}

// column is one heading: its name, and its unit if it has one.
type column struct {
	heading string // as the sheet has it
	name    string
	unit    levelling.Unit
}

// row is one line with something in it.
type row struct {
	line  int // of the file, from 1
	cells []string
}

// cell returns the cell of a column, "" where there is none.
func (t *table) cell(r row, name string) string {
	if i, ok := t.place[name]; ok && i < len(r.cells) {
		return r.cells[i]
	}
	return ""
}

// heading is how the sheet calls a column.
func (t *table) heading(name string) string {
	if i, ok := t.place[name]; ok {
		return t.columns[i].heading
	}
	return name
}

// unit is that of a column's heading, or what is usual.
func (t *table) unit(name string, usual levelling.Unit) levelling.Unit {
	if i, ok := t.place[name]; ok && t.columns[i].unit != "" {
		return t.columns[i].unit
	}
	return usual
}

func (t *table) has(name string) bool { _, ok := t.place[name]; return ok }

// layout says which columns a sheet may have, under which other names, and which
// it must have.
type layout struct {
	names []string
	also  map[string]string
	need  []string
}

// read makes a table of a file. The error is a Fault that says what the file is
// instead. ignored are headings that nothing is read from.
func read(file []byte, l layout) (t *table, ignored []string, err error) {
	text, err := plainText(file)
	if err != nil {
		return nil, nil, err
	}
	text, skipped, comma := separatorOf(text)
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.ReuseRecord = comma, -1, true
	t = &table{}
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, nil, csvFault(err, skipped)
		}
		line, _ := r.FieldPos(0)
		if err := t.take(line+skipped, cells); err != nil {
			return nil, nil, err
		}
	}
	ignored, err = t.settle(l)
	return t, ignored, err
}

// plainText checks that a file is text at all, and says what to do where it is not.
func plainText(file []byte) ([]byte, error) {
	no := func(cure string) ([]byte, error) { return nil, &Fault{Cure: cure} }
	switch {
	case len(file) > MaxBytes:
		return no("a file of at most 2 MiB: this is another one than was meant, or several jobs in one")
	case len(bytes.TrimSpace(file)) == 0:
		return no("the file is empty")
	case bytes.HasPrefix(file, []byte("PK\x03\x04")), bytes.HasPrefix(file, []byte("\xd0\xcf\x11\xe0")):
		return no("this is a workbook, not a CSV: save the sheet as CSV UTF-8 and choose that file")
	case bytes.HasPrefix(file, []byte("\xff\xfe")), bytes.HasPrefix(file, []byte("\xfe\xff")):
		return no("this file is in UTF-16: save it as CSV UTF-8")
	case bytes.IndexByte(file, 0) >= 0:
		return no("this is no text: choose a CSV file")
	}
	file = bytes.TrimPrefix(file, []byte("\xef\xbb\xbf"))
	if !utf8.Valid(file) {
		return no(fmt.Sprintf("line %d has letters that are not UTF-8: save the sheet as CSV UTF-8", badLine(file)))
	}
	return file, nil
}

// badLine is the first line that is not UTF-8.
func badLine(file []byte) int {
	for n, line := range bytes.Split(file, []byte("\n")) {
		if !utf8.Valid(line) {
			return n + 1
		}
	}
	return 0
}

// separatorOf finds what stands between the cells: what a first line "sep=;" says,
// else what there is most of in the heading. It returns the text without that line.
func separatorOf(text []byte) (rest []byte, skipped int, comma rune) {
	first, after, _ := bytes.Cut(text, []byte("\n"))
	said := strings.TrimRight(string(first), "\r")
	if len(said) == 5 && strings.EqualFold(said[:4], "sep=") && strings.Contains(",;\t", said[4:]) {
		return after, 1, rune(said[4])
	}
	comma, most := ',', 0
	for _, c := range ",;\t" {
		if n := unquoted(said, c); n > most {
			comma, most = c, n
		}
	}
	return text, 0, comma
}

// unquoted counts a separator outside quotes.
func unquoted(line string, separator rune) (n int) {
	quoted := false
	for _, c := range line {
		switch {
		case c == '"':
			quoted = !quoted
		case c == separator && !quoted:
			n++
		}
	}
	return n
}

// csvFault says in words what the reader stumbled over.
func csvFault(err error, skipped int) error {
	bad, ok := errors.AsType[*csv.ParseError](err)
	if !ok {
		return &Fault{Cure: "cannot be read as CSV"}
	}
	cure := `a quote in the middle of a cell: put the whole cell in quotes and write each quote in it twice, as "2"" x 4"""`
	if errors.Is(bad.Err, csv.ErrQuote) {
		cure = "a cell that begins with a quote never ends, or goes on behind its last quote: close it, and write each quote in it twice"
	}
	return &Fault{Line: bad.StartLine + skipped, Cure: cure}
}

// take adds one record: the first is the heading, and those with nothing in them
// are passed over.
func (t *table) take(line int, cells []string) error {
	if len(cells) > MaxColumns {
		return &Fault{Line: line, Cure: fmt.Sprintf("%d columns: at most %d", len(cells), MaxColumns)}
	}
	empty := true
	for i, c := range cells {
		if len(c) > maxCell {
			return &Fault{Line: line, Cure: fmt.Sprintf("cell %d is longer than 4 000 letters: is a quote missing?", i+1)}
		}
		empty = empty && strings.TrimSpace(c) == ""
	}
	switch {
	case empty:
	case t.columns == nil:
		for _, c := range cells {
			t.columns = append(t.columns, columnOf(strings.Clone(c)))
		}
	case len(cells) > len(t.columns):
		return &Fault{Line: line, Cure: "more cells than there are headings: put a number with a decimal comma in quotes, or semicolons between the cells"}
	case len(t.rows) >= MaxRows:
		return &Fault{Line: line, Cure: "more than 5 000 lines: put them in in several files"}
	default:
		own := make([]string, len(cells))
		for i, c := range cells {
			own[i] = strings.Clone(c)
		}
		t.rows = append(t.rows, row{line, own})
	}
	return nil
}

// withUnit is a heading with a unit at its end: "staff mm", "staff, ft", "staff [m]".
var withUnit = regexp.MustCompile(`^(.+?)[\s,(\[]+([a-z][a-z0-9-]*)[)\]]?$`)

// columnOf reads a heading. A last word that is a unit is one.
func columnOf(heading string) column {
	name := strings.Join(strings.Fields(strings.ToLower(strings.ReplaceAll(heading, "_", " "))), " ")
	c := column{heading: strings.TrimSpace(heading), name: name}
	if m := withUnit.FindStringSubmatch(name); m != nil && unitOf(m[2]) != "" {
		c.name, c.unit = m[1], unitOf(m[2])
	}
	return c
}

// settle finds the columns of a layout, and says which are missing or twice there.
func (t *table) settle(l layout) (ignored []string, err error) {
	t.place = map[string]int{}
	for i := range t.columns {
		c := &t.columns[i]
		name, known := l.find(*c)
		if !known {
			if c.name != "" {
				ignored = append(ignored, c.heading)
			}
			continue
		}
		if _, twice := t.place[name]; twice {
			return nil, &Fault{Line: 1, Column: c.heading, Cure: "two columns of that name: take one out"}
		}
		c.name, t.place[name] = name, i
	}
	for _, name := range l.need {
		if !t.has(name) {
			return nil, &Fault{Line: 1, Column: name, Cure: "no column of that name: the first line has the names of the columns, " + strings.Join(l.need, ", ") + " among them"}
		}
	}
	if len(t.rows) == 0 {
		return nil, &Fault{Cure: "there is nothing below the headings"}
	}
	return ignored, nil
}

// find is the name under which a layout knows a column.
func (l layout) find(c column) (string, bool) {
	for _, name := range []string{c.name, l.also[c.name]} {
		for _, known := range l.names {
			if name == known {
				return known, true
			}
		}
	}
	return "", false
}
