package web

import (
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// Frame is what stands around every page.
type Frame struct {
	Title  string
	Firm   string // "" before anybody entered
	Who    string // who is signed in, "" where it is nobody in particular
	Words  jobs.Words
	Job    *jobs.Job      // the job the page is about, if it is about one
	Seq    int64          // of the job's last event on the page
	Saved  string         // what was just saved, in words
	Warned string         // what could not be done
	Live   string         // where news of the page's subject come from
	Here   string         // the page's own address, to come back to
	Asked  string         // what is looked for
	Units  levelling.Unit // that lengths are shown in
	Zone   *time.Location // of a page about no job
}

func (f Frame) speech() jobs.Speech { return jobs.Speech{Units: f.Units, Words: f.Words} }

// ProblemPage says what went wrong.
type ProblemPage struct {
	Frame
	Status int
	Detail string
	ID     string
	Owner  string // where an owner's link leads, for who came by one
}

// JobPage is one job: what is dangerous, the floor, what comes next.
type JobPage struct {
	Frame
	Picture jobs.Picture
	Floor   template.HTML
	Lines   []template.HTML // along each bearer
	Drawn   Drawn           // what a desk has room for
	Key     []KeyEntry
	Turn    int // the next quarter turn
	Left    []LeftLine
	Soon    []Soon
	Late    bool // the day is over, and nobody said that everybody is out
	Unsafe  bool // today's safety check comes first, and is not recorded
	Aside   []jobs.SetAside
	Faults  []string     // where the record does not agree with what was signed
	Causes  []RecordLine // findings, open first
	Actions []Action
	Others  []Action
	Around
}

// Drawn are the drawings of a whole floor beside its plan.
type Drawn struct {
	Lines   template.HTML // along all bearers, each in its place; "" without heights
	Shading []Print       // before and after, on one scale
}

// Print is one drawing with what it shows.
type Print struct {
	Name string
	SVG  template.HTML
}

// DrawnPage is a page with drawings of the whole floor and nothing else.
type DrawnPage struct {
	Frame
	Heading string
	Note    string
	Prints  []Print
	Turn    int      // the next quarter turn
	Days    []Choice // whose evening the floor can be looked at
	AsOf    string   // the one of them that is chosen
	Other   Action   // the same heights drawn the other way
	Printed string
	Around
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
	Due        Action // what is due now; its verb is "" where nothing is
	Actions    []Action
	Others     []Action
	Book       []BookLine
	Earlier    string // address of its lines before these, "" where there are none
	Neighbours []string
	Later      *jobs.Moving    // nil where it was not read since the job
	Carrying   *jobs.Carrying  // nil under no bearer
	Load       *jobs.Load      // nil where its share is not known
	Wet        []jobs.Wet      // moisture of the timber here
	Proposals  []jobs.Proposal // of stops here, and of the whole job

	Thickness, BagLitres string // of the pad that was asked about
}

// Action leads to a form.
type Action struct {
	Verb, Href string
}

// BookPage is a stretch of the book.
type BookPage struct {
	Frame
	Lines       []BookLine
	Filter      BookFilter
	Places      []string
	Kinds       []Choice
	People      []Choice
	Setups      []Choice
	First, Last int64  // of the lines that were looked through
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
	Href      string // where it stands in the book
	VoidHref  string // "" where the line cannot be voided
	AgainHref string // where it is void: to record it again
}

// Photo is one photo or sound of a line.
type Photo struct {
	Small, Full string
	Alt         string
	Sound       bool
	When, Line  string // where photos stand by themselves
	Away        bool   // it has not arrived yet
	Apart       string // why its record does not count; "" where it does
}

// Proposals are the stops that are proposed on the job.
func (p JobPage) Proposals() []jobs.Proposal { return p.Picture.Proposals }

func (ProblemPage) page() string { return "problem" }
func (JobPage) page() string     { return "job" }
func (SupportPage) page() string { return "support" }
func (BookPage) page() string    { return "book" }
func (DrawnPage) page() string   { return "drawn" }
func (RecordPage) page() string  { return "record" }

var functions = template.FuncMap{
	"date":    jobs.DayWords,
	"asset":   Address,
	"pencil":  Pencil,
	"day":     func(t time.Time) string { return t.Format(Day) },
	"round":   func(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) },
	"basis":   basis,
	"upper":   Upper,
	"verdict": jobs.VerdictWords,
	"join":    func(list []string) string { return strings.Join(list, ", ") },
	"some":    some,
	"ands":    ands,
	"one":     func(words string) bool { return strings.HasPrefix(words, "1 ") },
	"percent": func(n, of int) int { return 100 * n / max(of, 1) },
	"deref":   func(v *float64) float64 { return *v },
	"person":  events.ID.String,
	"plan":    func() string { return smallestPlan },
	"cell":    func(name, label, value, wrong string) cell { return cell{name, label, value, wrong} },
	"role":    role,
	"region":  region,
	"count":   levelling.Millimetre.Show, // of what is no length
	"scope":   scope,
}

// smallestPlan shows how a plan is written.
const smallestPlan = `{"supports": [{"id": "B1-1", "x": 0, "y": 0}, {"id": "B1-2", "x": 1.8, "y": 0}],
 "bearers": [{"id": "B1", "supports": ["B1-1", "B1-2"]}],
 "datums": [{"id": "D1", "x": -1, "y": 0, "height": 0, "stands_on": "the neighbour's step", "off_building": true}]}`

// cell is one plain input of a form that is no event's.
type cell struct{ Name, Label, Value, Wrong string }

// Pencil reports whether a support's figures are written in pencil: expected
// from the moves since it was read, or something beside it moved.
func Pencil(s jobs.Support) bool { return s.Basis != jobs.WasRead || s.Stale }

// basis says where a present height comes from.
func basis(s jobs.Support) string {
	if Pencil(s) {
		return string(jobs.IsExpected)
	}
	return string(s.Basis)
}

// Upper writes a sentence, which may be typed by anybody, with its first letter large.
func Upper(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	if n < 1 || first == utf8.RuneError {
		return s
	}
	return string(unicode.ToUpper(first)) + s[n:]
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

// mostReadings is how many times one would read a place again before reaching
// for a straightedge.
const mostReadings = 6

// BookLineHref is where a line of a job's book stands.
func BookLineHref(job string, seq int64) string {
	return fmt.Sprintf("%s/book?at=%d#n%d", job, seq, seq)
}

// ands joins what is listed as one says it: "3 readings and 1 signature".
func ands(list []string) string {
	n := len(list)
	if n < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:n-1], ", ") + " and " + list[n-1]
}
