package sheet

import (
	"strings"

	"relevel/levelling"
)

// The things that a line of a plan can be about.
const (
	aSupport  = "support"
	aSpot     = "spot"
	aDatum    = "datum"
	aBearer   = "bearer"
	aJoin     = "join"
	theJoists = "joists"
	aWall     = "wall"
	aRoom     = "room"
	fixed     = "fixed"
	aDoor     = "door"
	aHatch    = "hatch"
	theStreet = "street"
	aLoad     = "load"
	underlay  = "underlay"
)

const planThings = "support, spot, datum, bearer, join, joists, wall, room, fixed, door, hatch, street, load or underlay"

// planHeadings are the columns of a plan in the order in which they are written.
var planHeadings = []string{
	"what", "name", "x m", "y m", "sort", "of", "bearer", "along", "other",
	"height", "height unit", "± mm", "stands on", "off building",
	"width mm", "depth mm", "spacing mm", "direction", "E MPa", "grade", "condition",
	"outline m", "wet", "roof", "masonry", "amount", "pixels",
}

var planLayout = layout{
	names: []string{
		"what", "name", "x", "y", "sort", "of", "bearer", "along", "other",
		"height", "height unit", "±", "stands on", "off building",
		"width", "depth", "spacing", "direction", "e mpa", "grade", "condition",
		"outline", "wet", "roof", "masonry", "amount", "pixels",
	},
	also: map[string]string{
		"thing": "what", "id": "name", "easting": "x", "northing": "y", "type": "sort", "material": "of",
		"sd": "±", "+/-": "±", "position": "along", "e": "e mpa", "e, mpa": "e mpa",
	},
	need: []string{"what"},
}

// planRow is one line of a plan while it is read. What is wrong with a cell is noted
// beside it, and the answer is then nought.
type planRow struct {
	t   *table
	row row
	bad *faults
}

func (r planRow) fault(column, cure string) { r.bad.add(r.row.line, r.t.heading(column), cure) }

func (r planRow) text(column string) string { return textOf(r.t.cell(r.row, column)) }

// number reads a cell that may be empty.
func (r planRow) number(column string) float64 {
	cell := r.t.cell(r.row, column)
	if textOf(cell) == "" {
		return 0
	}
	v, cure := numberOf(cell)
	if cure != "" {
		r.fault(column, cure)
	}
	return v
}

// scaled reads a length into the unit in which a plan has it; it may be empty. The
// unit is that of the column's heading.
func (r planRow) scaled(column string, into levelling.Unit) float64 {
	cell := r.t.cell(r.row, column)
	if textOf(cell) == "" {
		return 0
	}
	unit := r.t.unit(column, into)
	l, cure := lengthOf(cell, unit)
	if cure != "" {
		r.fault(column, cure)
		return 0
	}
	if l.Unit == into {
		return l.Value
	}
	return l.MM() / into.MM()
}

// metres reads a place on the plan, which must be there.
func (r planRow) metres(column string) float64 {
	if r.text(column) == "" {
		r.fault(column, "missing: how far it lies from the corner of the drawing, in metres")
		return 0
	}
	return r.scaled(column, levelling.Metre)
}

func (r planRow) mm(column string) float64 { return r.scaled(column, levelling.Millimetre) }

func (r planRow) yes(column string) bool {
	yes, cure := yesOf(r.t.cell(r.row, column))
	if cure != "" {
		r.fault(column, cure)
	}
	return yes
}

// says is the rest of the line with its headings, as far as something is read from it.
func (r planRow) says() string {
	var said []string
	for i, cell := range r.row.cells {
		c := r.t.columns[i]
		text := textOf(cell)
		if at, read := r.t.place[c.name]; text == "" || !read || at != i || c.name == "what" || c.name == "name" {
			continue
		}
		said = append(said, c.heading+" "+text)
	}
	return strings.Join(said, ", ")
}
