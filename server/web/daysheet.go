package web

import (
	"bytes"
	"fmt"
	"html/template"
	"strings"
	"time"

	"relevel/jobs"
)

// DaySheetPage is every crew and job on one page: where each stands, and what waits.
type DaySheetPage struct {
	Frame
	Today  string
	First  []Want // what cannot wait, over all jobs
	OfFirm []Want // what is about no job: phones, jacks, lasers
	Crews  []SheetCrew
	All    []jobs.Crew // to choose from
	Chosen string      // the crew whose jobs alone are shown, "" for all
	Jobs   int
	Closed bool // the page is that of the jobs that are closed
}

// SheetCrew is one crew with its jobs, the most urgent first.
type SheetCrew struct {
	ID, Name string
	Lines    []SheetLine
}

// rowsGoHere stands in a page for the rows of a crew. Templates write no such byte.
const rowsGoHere = "\x00"

// Rows marks where its lines go.
func (SheetCrew) Rows() template.HTML { return rowsGoHere }

// Made tells which lines are on the page, in their order, and where a crew ends.
func (p DaySheetPage) Made() (numbers []uint64) {
	for _, crew := range p.Crews {
		for _, l := range crew.Lines {
			numbers = append(numbers, l.Made)
		}
		numbers = append(numbers, 0)
	}
	return numbers
}

// WithRows puts the lines of its crews into a day sheet that was rendered: it is by far
// the most of the page, and a template would copy it again and again.
func (p DaySheetPage) WithRows(page []byte) []byte {
	size := len(page)
	for _, crew := range p.Crews {
		for _, l := range crew.Lines {
			size += len(l.HTML)
		}
	}
	out := make([]byte, 0, size)
	for _, crew := range p.Crews {
		before, after, _ := bytes.Cut(page, []byte(rowsGoHere))
		out = append(out, before...)
		for _, l := range crew.Lines {
			out = append(out, l.HTML...)
		}
		page = after
	}
	return append(out, page...)
}

// SheetLine is one job in a line.
type SheetLine struct {
	ID, Name, Place, Stage string
	Seq                    int64 // of the last event in it, −1 while it is being worked out
	Rank                   int   // how urgent it is
	At                     int64 // when something happened last, in seconds
	Small                  template.HTML
	ToGo, PM               string
	Rounds                 int // left; 0 where there are none or none can be planned
	Last, When, By         string
	Planned, Closed        string
	Wants                  []Want

	HTML template.HTML // the line as it is shown, made by RenderLine
	Made uint64        // a number that no other line has that was made
}

// Want is one thing that waits, and where somebody acts on it.
type Want struct {
	Job, Name string // the job it is about; "" where it is about none
	Words     string
	Href      string
	Rank      int
}

// From which rank on a thing is written in red, and stands above all jobs.
const (
	RankRed   = 30
	RankFirst = 60
)

// Red tells what is written in red.
func (w Want) Red() bool { return w.Rank >= RankRed }

// First tells what stands above all jobs.
func (w Want) First() bool { return w.Rank >= RankFirst }

// Beside is what stands beside a job: each thing is said once, and what stands above all
// jobs is not. Where jobs are closed nothing stands above.
func (l SheetLine) Beside() (list []Want) {
	for _, w := range l.Wants {
		if l.Closed != "" || !w.First() {
			list = append(list, w)
		}
	}
	return list
}

// Above is how much of what waits on a job stands above all jobs.
func (l SheetLine) Above() int { return len(l.Wants) - len(l.Beside()) }

func (DaySheetPage) page() string { return "daysheet" }

// SheetLines are the lines of a few jobs, which take the place of those on a page
// that is open.
type SheetLines struct {
	First []Want
	Lines []SheetLine
}

func (SheetLines) page() string { return "daysheet" }

// RenderLine makes the row of a line; its figures are written already.
func RenderLine(l SheetLine) (template.HTML, error) {
	b, err := renderPart(jobs.Speech{}, "daysheet", "line-of-job", l)
	return template.HTML(b), err
}

func (SheetLines) speech() jobs.Speech { return jobs.Speech{} } // all in it is written already

// Fill writes where a job stands.
func (l *SheetLine) Fill(b jobs.Brief, now time.Time, in jobs.Speech) {
	u := in.Units
	l.Stage, l.Last = in.Words.Say(stageWords(b)), b.SayLast(in.Words)
	if b.GreatestToGo != nil {
		l.ToGo, l.PM = u.ShowSigned(*b.GreatestToGo), u.ShowSD(b.GreatestSD)
	}
	if b.Rounds != nil && *b.Rounds > 0 {
		l.Rounds = *b.Rounds
	}
	if !b.LastAt.IsZero() {
		l.When, l.At = When(b.LastAt.In(now.Location()), now), b.LastAt.Unix()
	}
}

// stageWords say how far a job is: "Rounds, 8 of 24 signed".
func stageWords(b jobs.Brief) string {
	if b.Supports == 0 {
		return "No plan yet"
	}
	words := Upper(b.Stage)
	if b.Signed > 0 {
		words += fmt.Sprintf(", %d of %d signed", b.Signed, b.Supports)
	}
	return words
}

// PlannedWords say when a job is planned for, "" where it is not.
func PlannedWords(j jobs.Job) string {
	first, last := shortDay(j.PlannedFirst), shortDay(j.PlannedLast)
	if first == last {
		return first
	}
	return first + " to " + last
}

func shortDay(date string) string {
	day, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return date
	}
	return day.Format("Mon 2 Jan")
}

// ListWords counts what is open, those that are not listed too, and says the first of
// it: "2 findings: trap leaks".
func ListWords(items []jobs.Item, unlisted int, one, more string) string {
	const most = 70
	words := one
	if n := len(items) + unlisted; n > 1 {
		words = fmt.Sprintf(more, n)
	}
	text := []rune(items[0].Text)
	if len(text) > most {
		text = append(text[:most], []rune(" …")...)
	}
	return words + ": " + strings.TrimSpace(string(text))
}
