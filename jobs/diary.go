package jobs

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// Day is what was done on a job on one day, by the clock of its site. What was
// voided or is set aside is not in it.
type Day struct {
	On      string          `json:"on"`              // 2026-03-02
	By      []events.ID     `json:"by,omitempty"`    // who recorded
	Moved   []DayMove       `json:"moved,omitempty"` // in the order of their first move
	Counts  []DayCount      `json:"counts,omitempty"`
	Seen    []DayInspection `json:"seen,omitempty"` // by inspectors
	From    time.Time       `json:"from,omitzero"`  // somebody went below, the first time
	To      time.Time       `json:"to,omitzero"`    // everybody was said to be out, the last time
	Unsaid  bool            `json:"not_said_to_be_out,omitempty"`
	LastAt  time.Time       `json:"last_at"`
	LastSeq int64           `json:"last_seq"`
}

// DayMove is how far a support was moved on a day, by what was measured at it.
type DayMove struct {
	Support string  `json:"support"`
	MM      float64 `json:"mm"`
}

// DayCount is how often one sort of thing was recorded on a day.
type DayCount struct {
	What string `json:"what"` // a key of dayCounts
	N    int    `json:"n"`
}

// DayInspection is what an inspector said.
type DayInspection struct {
	ID   events.ID `json:"id"`
	At   time.Time `json:"at"`
	Text string    `json:"text"`
}

// dayCounts are what is counted, in the order in which it is told: of one, of more.
var dayCounts = []struct{ what, one, more string }{
	{"stop", "work was stopped", "work was stopped %d times"},
	{"incident", "an incident", "%d incidents"},
	{"plan", "plan drawn", "plan drawn %d times"},
	{"aim", "aim agreed", "aim agreed %d times"},
	{"read", "one reading", "%d readings"},
	{"out", "one support taken out", "%d supports taken out"},
	{"poured", "one pad poured", "%d pads poured"},
	{"set", "one support set", "%d supports set"},
	{"temporary", "packed one temporary", "packed %d temporaries"},
	{"final", "packed one final", "packed %d finals"},
	{"down", "one jack down", "%d jacks down"},
	{"fixed", "one fixed", "%d fixed"},
	{"signed", "one signed", "%d signed"},
	{"cut", "one floor cut", "%d floor cuts"},
	{"closed", "one floor cut closed", "%d floor cuts closed"},
	{"tie", "one tie freed", "%d ties freed"},
	{"back", "one tie put back", "%d ties put back"},
	{"finding", "one finding", "%d findings"},
	{"answered", "one finding closed", "%d findings closed"},
	{"change", "one change asked for", "%d changes asked for"},
	{"agreed", "one change answered", "%d changes answered"},
	{"go-ahead", "go-ahead given", "go-ahead given %d times"},
	{"handover", "handed over", "handed over %d times"},
}

// clone shares nothing with the day that a fold changes.
func (d Day) clone() Day {
	d.By, d.Moved, d.Counts, d.Seen = slices.Clone(d.By), slices.Clone(d.Moved), slices.Clone(d.Counts), slices.Clone(d.Seen)
	return d
}

// Diary is what was done, day by day. It shares nothing with the state.
func (s *State) Diary() []Day { return each(s.diary, Day.clone) }

// keepDiary writes an event that counts into its day.
func (s *State) keepDiary(e placed, body events.Body) {
	if _, aside := s.aside[e.ID]; aside {
		return
	}
	d := s.dayOfEvent(e)
	if e.key.at.After(d.LastAt) {
		d.LastAt = e.key.at
	}
	d.LastSeq = max(d.LastSeq, e.Seq)
	if !e.By.IsZero() && !slices.Contains(d.By, e.By) {
		d.By = append(d.By, e.By)
	}
	d.under(e, body, s.below)
	if moves, ok := body.(*events.Jacking); ok {
		for _, m := range moves.Moves {
			d.moved(m.Support, m.By.MM())
		}
		return
	}
	if b, ok := body.(*events.Inspection); ok {
		d.Seen = append(d.Seen, DayInspection{e.ID, e.key.at, sentence(b.Stage, b.Who+": "+b.Answer, b.Note)})
		return
	}
	if what := countedAs(e.Kind, body); what != "" {
		d.count(what)
	}
}

// dayOfEvent finds the day of an event by the clock of the site, or begins it.
func (s *State) dayOfEvent(e placed) *Day {
	on := e.key.at.In(e.At.Location()).Format(time.DateOnly)
	i, found := slices.BinarySearchFunc(s.diary, on, func(d Day, on string) int { return strings.Compare(d.On, on) })
	if !found {
		s.diary = slices.Insert(s.diary, i, Day{On: on})
	}
	return &s.diary[i]
}

// under notes when somebody went below and when everybody was out again.
func (d *Day) under(e placed, body events.Body, below *mark) {
	if below != nil && sameDay(below.at, e.key.at) && d.From.IsZero() {
		d.From = below.at
	}
	if end, ok := body.(*events.DayEnd); ok && end.Out && !d.From.IsZero() {
		d.To = e.key.at
	}
	d.Unsaid = below != nil
}

func (d *Day) moved(support string, mm float64) {
	i := slices.IndexFunc(d.Moved, func(m DayMove) bool { return m.Support == support })
	if i < 0 {
		i = len(d.Moved)
		d.Moved = append(d.Moved, DayMove{Support: support})
	}
	d.Moved[i].MM += mm
}

func (d *Day) count(what string) {
	i := slices.IndexFunc(d.Counts, func(c DayCount) bool { return c.What == what })
	if i < 0 {
		i = len(d.Counts)
		d.Counts = append(d.Counts, DayCount{What: what})
	}
	d.Counts[i].N++
}

// countedAs names what an event counts as in the diary, "" where it does not.
func countedAs(kind events.Kind, body events.Body) string {
	switch b := body.(type) {
	case *events.Packing:
		return string(b.Sort)
	case *events.SupportWork:
		return map[events.WorkStep]string{events.TakenOut: "out", events.Poured: "poured", events.Set: "set", events.Refixed: "fixed"}[b.Step]
	case *events.Reading:
		if b.NotRead == "" {
			return "read"
		}
	}
	return countedKinds[kind]
}

// countedKinds are the kinds that count as one thing whatever they say.
var countedKinds = map[events.Kind]string{
	events.KindStop: "stop", events.KindIncident: "incident", events.KindPlan: "plan", events.KindAim: "aim", events.KindJackDown: "down",
	events.KindSigned: "signed", events.KindFloorCut: "cut", events.KindFloorClosed: "closed", events.KindTieFreed: "tie", events.KindTieBack: "back",
	events.KindFinding: "finding", events.KindFindingClosed: "answered", events.KindChange: "change", events.KindChangeAnswered: "agreed",
	events.KindGoAhead: "go-ahead", events.KindHandover: "handover",
}

// Words tells the day in one line, times by the clock of a zone and moves in a unit.
func (d Day) Words(zone *time.Location, u levelling.Unit) string {
	var told []string
	if words := movedWords(d.Moved, u); words != "" {
		told = append(told, words)
	}
	for _, w := range dayCounts {
		for _, c := range d.Counts {
			switch {
			case c.What != w.what:
			case c.N == 1:
				told = append(told, w.one)
			default:
				told = append(told, fmt.Sprintf(w.more, c.N))
			}
		}
	}
	for _, v := range d.Seen {
		told = append(told, "inspected: "+v.Text)
	}
	if words := d.belowWords(zone); words != "" {
		told = append(told, words)
	}
	if len(told) == 0 {
		return "notes alone"
	}
	return joinWords(told)
}

// fewMoved is how many supports are told of each by itself.
const fewMoved = 4

func movedWords(moved []DayMove, u levelling.Unit) string {
	if len(moved) > fewMoved {
		least, most := moved[0].MM, moved[0].MM
		for _, m := range moved {
			least, most = min(least, m.MM), max(most, m.MM)
		}
		if least == most {
			return fmt.Sprintf("%d supports %s each", len(moved), upWords(most, u))
		}
		return fmt.Sprintf("%d supports moved, from %s to %s", len(moved), upWords(least, u), upWords(most, u))
	}
	words := make([]string, len(moved))
	for i, m := range moved {
		words[i] = m.Support + " " + upWords(m.MM, u)
	}
	return joinWords(words)
}

func upWords(mm float64, u levelling.Unit) string {
	if mm < 0 {
		return "down " + u.Show(-mm)
	}
	return "up " + u.Show(mm)
}

func (d Day) belowWords(zone *time.Location) string {
	const clock = "15:04"
	switch {
	case d.From.IsZero():
		return ""
	case d.Unsaid:
		return "below from " + d.From.In(zone).Format(clock) + " and not said to be out"
	case d.To.IsZero():
		return "below from " + d.From.In(zone).Format(clock)
	}
	return "below " + d.From.In(zone).Format(clock) + " to " + d.To.In(zone).Format(clock)
}
