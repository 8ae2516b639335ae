package web

import (
	"cmp"
	"fmt"
	"html/template"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/sheet"
	"relevel/levelling"
)

// SheetsPage leads to what a job can be taken out as, and put in from.
type SheetsPage struct{ Frame }

func (SheetsPage) page() string { return "sheets" }

// SheetForm is what the pages have in common on which a sheet is put in.
type SheetForm struct {
	FormID  string // of the event, where one is made by the desk
	Text    string // the file, once it was looked at
	By      string // who records it
	People  []jobs.Person
	Wrong   Wrong
	Faults  []sheet.Fault
	Ignored []string
	Columns []sheet.Column
	Example string
	Name    string // of its forms: book, plan
}

// Looked reports whether a file was sent.
func (f SheetForm) Looked() bool { return f.Text != "" || len(f.Faults) > 0 }

// ExampleRows is the example as a table.
func (f SheetForm) ExampleRows() (rows [][]string) {
	for _, line := range strings.Split(strings.TrimSpace(f.Example), "\n") {
		rows = append(rows, strings.Split(line, ","))
	}
	return rows
}

// BookInPage shows what a level book would put into a job.
type BookInPage struct {
	Frame
	SheetForm
	Book   sheet.Book
	Zone   *time.Location
	Names  map[events.ID]string
	Broken string // how far it came before something failed
}

func (BookInPage) page() string { return "bookin" }

// LineIn is one line of a book as the page shows it.
type LineIn struct {
	sheet.BookLine
	When, Who, Reads string
	Faults           []sheet.Fault
}

// Lines are those of the book with what is wrong beside each.
func (p BookInPage) Lines() []LineIn {
	faults := map[int][]sheet.Fault{}
	for _, f := range p.Faults {
		faults[f.Line] = append(faults[f.Line], f)
	}
	lines := make([]LineIn, len(p.Book.Lines))
	for i, l := range p.Book.Lines {
		lines[i] = LineIn{BookLine: l, Who: p.Names[l.By], Faults: faults[l.Line]}
		if !l.At.IsZero() {
			lines[i].When = l.At.In(p.Zone).Format("2 Jan 15:04")
		}
		if l.Staff != nil {
			lines[i].Reads = staffWords(*l.Staff)
		}
	}
	return lines
}

// staffWords writes a staff reading as it was read: in mm without its unit.
func staffWords(l events.Length) string {
	if l.Unit == levelling.Millimetre {
		return levelling.Millimetre.ShowFine(l.Value)
	}
	return fmt.Sprintf("%g %s", l.Value, l.Unit)
}

// Sums says in words what would be recorded.
func (p BookInPage) Sums() string {
	var setups, readings, closings int
	for _, e := range p.Book.Events {
		switch e.Kind {
		case events.KindSetup:
			setups++
		case events.KindSetupClosed:
			closings++
		default:
			readings++
		}
	}
	return strings.Join(nonZero(counted(setups, "set-up"), counted(readings, "reading"), counted(closings, "closing")), ", ")
}

// Known is how many lines are recorded already.
func (p BookInPage) Known() (n int) {
	for _, l := range p.Book.Lines {
		if l.Seq != 0 {
			n++
		}
	}
	return n
}

// PlanInPage shows a plan that would be put in beside the present one.
type PlanInPage struct {
	Frame
	SheetForm
	Lines    []sheet.PlanLine
	Same     bool
	Now, New template.HTML
	Changes  []string // what would be other than it is, in words
}

func (PlanInPage) page() string { return "planin" }

// FaultsAt are what is wrong with one line.
func (p PlanInPage) FaultsAt(line int) (faults []sheet.Fault) {
	for _, f := range p.Faults {
		if f.Line == line {
			faults = append(faults, f)
		}
	}
	return faults
}

// PlanChanges says what one plan has other than another: places that come, go and
// move, and how many of the rest there are.
func PlanChanges(was, is events.Plan) (changes []string) {
	before, after := placesOf(was), placesOf(is)
	var come, gone, moved []string
	for _, p := range after.order {
		old, known := before.at[p]
		switch {
		case !known:
			come = append(come, p)
		case old != after.at[p]:
			moved = append(moved, p)
		}
	}
	for _, p := range before.order {
		if _, stays := after.at[p]; !stays {
			gone = append(gone, p)
		}
	}
	for _, c := range []struct {
		word  string
		names []string
	}{{"New", come}, {"Not on it any more", gone}, {"Elsewhere or of another sort", moved}} {
		if len(c.names) > 0 {
			changes = append(changes, c.word+": "+some(c.names))
		}
	}
	for _, c := range []struct {
		what    string
		was, is int
	}{{"bearer", len(was.Bearers), len(is.Bearers)}, {"wall", len(was.Walls), len(is.Walls)}, {"room", len(was.Rooms), len(is.Rooms)}} {
		if c.was != c.is {
			changes = append(changes, fmt.Sprintf("%s in place of %d", cmp.Or(counted(c.is, c.what), "no "+c.what), c.was))
		}
	}
	if len(changes) == 0 {
		changes = append(changes, "Nothing stands elsewhere; what is said of it differs")
	}
	return changes
}

// placed are the supports, spots and datums of a plan.
type placed struct {
	order []string
	at    map[string]string
}

func placesOf(p events.Plan) placed {
	all := placed{at: map[string]string{}}
	add := func(id string, said ...any) {
		all.order = append(all.order, id)
		all.at[id] = fmt.Sprint(said...)
	}
	for _, s := range p.Supports {
		add(s.ID, "support ", s.X, " ", s.Y, s.Sort, s.Of)
	}
	for _, s := range p.Spots {
		add(s.ID, "spot ", s.X, " ", s.Y)
	}
	for _, d := range p.Datums {
		height := ""
		if d.Height != nil {
			height = fmt.Sprint(d.Height.MM())
		}
		add(d.ID, "datum ", d.X, " ", d.Y, height, d.OffBuilding)
	}
	return all
}
