package web

import (
	"fmt"
	"html/template"
	"net/url"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/drawing"
)

// Frame is what stands around every page.
type Frame struct {
	Title  string
	Firm   string // "" before anybody entered
	Words  jobs.Words
	Job    *jobs.Job // the job the page is about, if it is about one
	Seq    int64     // of the job's last event on the page
	Saved  string    // what was just saved, in words
	Warned string    // what could not be done
	Live   string    // where news of the page's subject come from
	Here   string    // the page's own address, to come back to
}

// EnterPage asks for the access token.
type EnterPage struct {
	Frame
	Wrong string
}

// ProblemPage says what went wrong.
type ProblemPage struct {
	Frame
	Status int
	Detail string
	ID     string
}

// JobsPage lists the firm's jobs.
type JobsPage struct {
	Frame
	Jobs []JobLine
}

// JobLine is one job in the list.
type JobLine struct {
	jobs.Job
	Brief *jobs.Brief // nil while nobody has folded the job
	Crew  string
	Last  string
	Small template.HTML
}

// JobPage is one job: what is dangerous, the floor, what comes next.
type JobPage struct {
	Frame
	Picture jobs.Picture
	Floor   template.HTML
	Lines   []template.HTML // along each bearer
	Key     []KeyEntry
	Turn    int // the next quarter turn
	Left    []LeftLine
	Soon    []Soon
	Aside   []jobs.SetAside
	Actions []Action
	Others  []Action
}

// KeyEntry is one drawing of the key and what it means.
type KeyEntry struct {
	SVG   template.HTML
	Means string
}

// LeftLine is one thing that should not be left as it is.
type LeftLine struct {
	jobs.Left
	Since, By string
	Href      string
}

// SupportPage is one support in section, with its own lines of the book.
type SupportPage struct {
	Frame
	Support    jobs.Support
	Section    template.HTML
	Actions    []Action
	Others     []Action
	Book       []BookLine
	Neighbours []string
}

// Action leads to a form.
type Action struct {
	Verb, Href string
}

// BookPage is a stretch of the book.
type BookPage struct {
	Frame
	Lines       []BookLine
	Support     string // only lines about this support, if set
	Supports    []string
	First, Last int64
	Earlier     string // address of the page before, "" at the beginning
	Later       string
	Total       int64
}

// BookLine is one line of the book.
type BookLine struct {
	jobs.Line
	Day, Time string
	By        string
	Photos    []Photo
	Flags     []string
	VoidHref  string // "" where the line cannot be voided
}

// Photo is one photo or sound of a line.
type Photo struct {
	Small, Full string
	Alt         string
	Sound       bool
}

// RecordPage is a form.
type RecordPage struct {
	Frame
	Form    Form
	Sources Sources
	Values  url.Values
	Wrong   Wrong
	FormID  string // the id its event will have
	Back    string
	By      string
	Unit    string
	Target  []Fact
	Grid    bool // offer a plain grid to start the plan from
}

// Fact is a figure worth having beside a form.
type Fact struct{ Name, Value string }

func (EnterPage) page() string   { return "enter" }
func (ProblemPage) page() string { return "problem" }
func (JobsPage) page() string    { return "jobs" }
func (JobPage) page() string     { return "job" }
func (SupportPage) page() string { return "support" }
func (BookPage) page() string    { return "book" }
func (RecordPage) page() string  { return "record" }

// shown is one field of a form as a page shows it.
type shown struct {
	Field
	At      string // name of the input
	ID      string
	Value   string
	Values  []string
	Wrong   string
	Options []Choice
}

// Show prepares one field; at is the name of its input.
func (p RecordPage) Show(f Field, at string) shown {
	s := shown{Field: f, At: at, ID: "f-" + strings.NewReplacer("[", "-", "]", "", ".", "-").Replace(at),
		Value: p.Values.Get(at), Values: p.Values[at], Wrong: p.Wrong[at], Options: f.Choices}
	for name, cure := range p.Wrong { // of one of several, such as supports[2]
		if strings.HasPrefix(name, at+"[") {
			s.Wrong = cure
		}
	}
	if f.From != "" {
		s.Options = p.Sources.Choices(f.From)
	}
	return s
}

// Has reports whether a value is among those chosen.
func (s shown) Has(v string) bool { return contains(s.Values, v) }

// shownRow is one row of a form as a page shows it.
type shownRow struct {
	Choice
	Name   string
	Inputs []shown
}

// Rows prepares the rows of a form.
func (p RecordPage) Rows() []shownRow {
	r := p.Form.Rows
	if r == nil {
		return nil
	}
	var rows []shownRow
	for i, key := range r.Keys(p.Sources) {
		name := r.RowName(i)
		if at := p.Values.Get(name); at != "" && at != key.Value { // as it was when it was filled in
			key = Choice{at, at}
		}
		row := shownRow{Choice: key, Name: name}
		if row.Label == "" {
			row.Label = key.Value
		}
		for _, f := range r.Fields {
			row.Inputs = append(row.Inputs, p.Show(f, name+"."+f.Name))
		}
		rows = append(rows, row)
	}
	return rows
}

// Near are the rows about the support in hand, or all of them without one.
func (p RecordPage) Near() []shownRow {
	if p.folds() {
		return p.Rows()[:1]
	}
	return p.Rows()
}

// Far are the other rows, which a page folds away.
func (p RecordPage) Far() []shownRow {
	if p.folds() {
		return p.Rows()[1:]
	}
	return nil
}

func (p RecordPage) folds() bool {
	return p.Form.Rows != nil && p.Form.Rows.From == FromBearer && p.Sources.Support != "" && len(p.Rows()) > 1
}

// FarOpen reports whether something stands in the rows that are folded away.
func (p RecordPage) FarOpen() bool {
	for _, r := range p.Far() {
		for _, in := range r.Inputs {
			if in.Wrong != "" || in.Value != "" && in.Input != OneOf {
				return true
			}
		}
	}
	return false
}

// NoSetup reports whether the form waits for a set-up of the laser.
func (p RecordPage) NoSetup() bool {
	for _, f := range p.Form.Fields {
		if f.From == FromSetups && len(p.Sources.Choices(FromSetups)) == 0 {
			return true
		}
	}
	return false
}

// Loose is what is wrong with no input in particular.
func (p RecordPage) Loose() []string {
	var all []string
	for name, cure := range p.Wrong {
		if !p.shows(name) {
			all = append(all, strings.TrimPrefix(name+": "+cure, ": "))
		}
	}
	return all
}

func (p RecordPage) shows(name string) bool {
	if name == "document" || name == "recorder" {
		return true
	}
	for _, f := range p.Form.Fields {
		if name == f.Name || strings.HasPrefix(name, f.Name+"[") {
			return true
		}
	}
	for _, r := range p.Rows() {
		for _, in := range r.Inputs {
			if name == in.At {
				return true
			}
		}
	}
	return false
}

// Units are what lengths can be typed in.
func (RecordPage) Units() []Choice {
	return []Choice{{"mm", "mm"}, {"cm", "cm"}, {"m", "m"}, {"in", "inches, also 1 3/16"}, {"ft", "feet and hundredths"}}
}

// Stages are when a photo was taken.
func (RecordPage) Stages() []Choice {
	return []Choice{{"", ""}, {"before", "before"}, {"during", "during"}, {"after", "after"}}
}

// HasLength reports whether the form takes a length, and so a unit.
func (p RecordPage) HasLength() bool {
	fields := p.Form.Fields
	if p.Form.Rows != nil {
		fields = append(fields[:len(fields):len(fields)], p.Form.Rows.Fields...)
	}
	for _, f := range fields {
		if f.Input == Length {
			return true
		}
	}
	return false
}

var functions = template.FuncMap{
	"asset":  Address,
	"signed": drawing.Signed,
	"plain":  drawing.Plain,
	"mm":     HalfMM,
	"figure": figure,
	"pm":     plusMinus,
	"upper":  upper,
	"join":   func(list []string) string { return strings.Join(list, ", ") },
	"some":   some,
	"deref":  func(v *float64) float64 { return *v },
	"person": events.ID.String,
	"role":   role,
}

// HalfMM writes a length as it was read.
func HalfMM(mm float64) string {
	return strings.Replace(levelling.FormatHalfMM(mm), "-", "−", 1)
}

// figure writes a height, "" where nobody knows it.
func figure(f *jobs.Figure) string {
	if f == nil {
		return ""
	}
	return drawing.Plain(f.MM)
}

func plusMinus(f *jobs.Figure) string {
	if f == nil || f.SD <= 0 {
		return ""
	}
	return "±" + levelling.FormatMM(max(f.SD, 1))
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// some lists the first of many.
func some(list []string) string {
	const most = 6
	if len(list) <= most {
		return strings.Join(list, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(list[:most], ", "), len(list)-most)
}

// Day and Clock are how times are written, in the job's own zone.
const (
	Day   = "Mon 2 Jan"
	Clock = "15:04"
)

// When writes a moment shortly: today only the time.
func When(t, now time.Time) string {
	if t.Format(time.DateOnly) == now.Format(time.DateOnly) {
		return t.Format(Clock)
	}
	return t.Format(Day + " " + Clock)
}
