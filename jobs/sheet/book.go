package sheet

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// Sights of a level book. A backsight opens a set-up on a datum, a foresight closes
// it there, and whatever is read between is an intermediate one.
const (
	backSight    = "bs"
	intermediate = "is"
	foreSight    = "fs"
)

const someSight = "bs (opens a set-up on a datum), is (a reading) or fs (closes it on a datum)"

// bookHeadings are the columns of a level book in the order in which they are written.
var bookHeadings = []string{
	"setup", "date", "time", "offset", "sight", "point", "face", "staff", "unit", "height mm", "surface", "look", "not read", "by",
	"instrument", "method", "± mm", "± mm per m", "stand m", "not counted",
}

var bookLayout = layout{
	names: []string{
		"setup", "date", "time", "offset", "sight", "point", "face", "staff", "unit", "height", "surface", "look", "not read", "by",
		"instrument", "method", "±", "± mm per", "stand", "not counted", "bs", "is", "fs",
	},
	also: map[string]string{
		"set-up": "setup", "set up": "setup", "station": "setup", "place": "point", "reading": "staff", "repeat": "look",
		"booked by": "by", "laser": "instrument", "backsight": "bs", "intermediate": "is", "intersight": "is", "foresight": "fs",
		"zone": "offset", "reduced level": "height", "rl": "height", "+/-": "±", "void": "not counted",
	},
	need: []string{"point"},
}

// Site is what a book is read against.
type Site struct {
	Job    events.ID
	Zone   *time.Location
	People []jobs.Person
	By     events.ID       // who recorded the lines that name nobody
	Log    []events.Stored // all of the job's
}

// Book is a level book as a sheet has it: what would be recorded, and what is wrong.
type Book struct {
	Lines   []BookLine
	Events  []events.Event // to be recorded, in order
	Faults  []Fault
	Ignored []string // headings that nothing is read from
	Check   string   // the arithmetic of a book that was booked as a run, "" else
}

// BookLine says what becomes of one line of a sheet.
type BookLine struct {
	Line    int            `json:"line"`
	Setup   string         `json:"setup,omitempty"`
	Sight   string         `json:"sight,omitempty"`
	Point   string         `json:"point,omitempty"`
	Face    events.Face    `json:"face,omitempty"`
	Staff   *events.Length `json:"staff,omitempty"`
	NotRead string         `json:"not_read,omitempty"`
	At      time.Time      `json:"at,omitzero"`
	By      events.ID      `json:"by,omitzero"`
	Height  *float64       `json:"height_mm,omitempty"` // reduced, once it was weighed
	Event   events.ID      `json:"event,omitzero"`      // that it is or will be
	Seq     int64          `json:"seq,omitempty"`       // under which it is recorded already
	LeftOut string         `json:"left_out,omitempty"`  // why it is not recorded
	Remark  string         `json:"remark,omitempty"`    // what to look at, though it counts
}

// ReadBook reads a level book and says what of it is new to the job.
func ReadBook(file []byte, site Site) Book {
	t, ignored, err := read(file, bookLayout)
	if bad, ok := errors.AsType[*Fault](err); ok {
		return Book{Faults: []Fault{*bad}}
	}
	b := &booker{site: site, t: t}
	b.book.Ignored = ignored
	rows := b.rows()
	if len(b.bad.list) == 0 {
		b.record(rows)
	}
	b.book.Faults = b.bad.all()
	if len(b.book.Faults) > 0 {
		b.book.Events = nil
	}
	return b.book
}

// booker reads a book line by line.
type booker struct {
	site Site
	t    *table
	bad  faults
	book Book
	was  sighted // the line before, whose set-up, day and time an empty cell repeats
}

// sighted is one staff reading of the book.
type sighted struct {
	line, place int // of the file, and in Book.Lines
	setup       string
	sight       string
	at          time.Time
	by          events.ID
	point       string
	face        events.Face
	staff       *events.Length
	surface     string
	look        int
	notRead     string
	setUp       events.Setup // what a backsight says of its instrument
}

// rows reads all lines of the sheet, in either of the two ways to book.
func (b *booker) rows() []sighted {
	classic := !b.t.has("sight") && (b.t.has("bs") || b.t.has("fs"))
	needs := []string{"sight", "staff"}
	if classic {
		needs = []string{"bs", "fs"}
	}
	for _, name := range needs {
		if !b.t.has(name) {
			b.bad.add(1, name, "no column of that name: a book has the columns setup, sight and staff, or bs, is and fs")
			return nil
		}
	}
	var all []sighted
	for _, r := range b.t.rows {
		if classic {
			all = append(all, b.classic(r)...)
		} else if s, ok := b.row(r); ok {
			all = append(all, s)
		}
	}
	if classic && len(b.bad.list) == 0 {
		b.closeRun(all)
	}
	return all
}

func (b *booker) fault(r row, column, cure string) { b.bad.add(r.line, b.t.heading(column), cure) }

func (b *booker) text(r row, column string) string { return textOf(b.t.cell(r, column)) }

// row reads a line that says itself which sight it is.
func (b *booker) row(r row) (s sighted, counts bool) {
	s = b.common(r)
	s.setup, s.sight = b.text(r, "setup"), strings.ToLower(b.text(r, "sight"))
	s.notRead = b.text(r, "not read")
	if s.setup == "" && s.notRead == "" {
		if s.setup = b.was.setup; s.setup == "" {
			b.fault(r, "setup", "missing: which set-up it was read from; a number will do")
		}
	}
	if !slices.Contains([]string{backSight, intermediate, foreSight}, s.sight) {
		b.fault(r, "sight", someSight)
	}
	if s.notRead == "" {
		s.staff = b.staff(r, "staff")
	} else if b.text(r, "staff") != "" {
		b.fault(r, "staff", "leave it empty where it was not read")
	}
	b.was = s
	return b.keep(r, s)
}

// keep gives a reading its line in the answer. One that did not count where it comes
// from is left out.
func (b *booker) keep(r row, s sighted) (sighted, bool) {
	s.place = len(b.book.Lines)
	out := b.text(r, "not counted")
	b.book.Lines = append(b.book.Lines, BookLine{
		Line: r.line, Setup: s.setup, Sight: s.sight, Point: s.point, Face: s.face, Staff: s.staff, NotRead: s.notRead, At: s.at, By: s.by, LeftOut: out,
	})
	return s, out == ""
}

// common reads what both ways to book have.
func (b *booker) common(r row) sighted {
	s := sighted{line: r.line, point: b.text(r, "point"), face: events.Face(strings.ToLower(b.text(r, "face"))), surface: b.text(r, "surface")}
	s.at, s.by = b.time(r), b.person(r)
	if cell := b.text(r, "look"); cell != "" {
		n, cure := wholeOf(cell, 0, 1000)
		if cure != "" {
			b.fault(r, "look", cure+": the how-many-th look at the same place, from 0")
		}
		s.look = n
	}
	s.setUp = b.instrument(r)
	return s
}

// person finds who booked a line by name.
func (b *booker) person(r row) events.ID {
	name := b.text(r, "by")
	if name == "" {
		return b.site.By
	}
	var found []events.ID
	for _, p := range b.site.People {
		if strings.EqualFold(strings.TrimSpace(p.Name), name) {
			found = append(found, p.ID)
		}
	}
	switch len(found) {
	case 1:
		return found[0]
	case 0:
		b.fault(r, "by", fmt.Sprintf("nobody of the firm is called %q: add them to People, or leave the cell empty", name))
	default:
		b.fault(r, "by", fmt.Sprintf("%d people of the firm are called %q: leave the cell empty and choose who recorded it", len(found), name))
	}
	return events.ID{}
}

// staff reads a staff reading in the unit beside it, or in that of its heading.
func (b *booker) staff(r row, column string) *events.Length {
	cell := b.t.cell(r, column)
	if textOf(cell) == "" {
		b.fault(r, column, "missing: what the staff reads; where it could not be read say why in the column “not read”")
		return nil
	}
	unit := b.t.unit(column, "")
	if said := b.text(r, "unit"); said != "" {
		unit = unitOf(said)
		if unit == "" {
			b.fault(r, "unit", aUnit)
			return nil
		}
	}
	if unit == "" {
		b.fault(r, column, "in which unit? Write it into the heading, such as “"+column+" mm”, or in a column “unit”: "+aUnit)
		return nil
	}
	l, cure := lengthOf(cell, unit)
	if cure == "" {
		if bad, ok := errors.AsType[*levelling.InputError](levelling.CheckStaff("staff", l.MM())); ok {
			cure = bad.Cure
		}
	}
	if cure != "" {
		b.fault(r, column, cure)
		return nil
	}
	return &l
}

// instrument reads what a line says of its set-up.
func (b *booker) instrument(r row) events.Setup {
	s := events.Setup{Instrument: b.text(r, "instrument"), Method: events.Method(strings.ToLower(b.text(r, "method")))}
	for column, to := range map[string]*float64{"±": &s.SDMM, "± mm per": &s.SDMMPerM} {
		if b.text(r, column) == "" {
			continue
		}
		v, cure := numberOf(b.t.cell(r, column))
		if cure != "" {
			b.fault(r, column, cure)
		}
		*to = v
	}
	if b.text(r, "stand") == "" {
		return s
	}
	at, cure := outlineOf(b.t.cell(r, "stand"))
	if cure != "" || len(at) != 1 {
		b.fault(r, "stand", "where the instrument stood, x y in metres, such as 3.1 2.2")
		return s
	}
	s.Stand = &at[0]
	return s
}
