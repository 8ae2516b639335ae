package jobs

import (
	"fmt"
	"math"
	"strings"

	"relevel/events"
	"relevel/levelling"
)

// Line is one line of the book: what happened, in words and figures.
type Line struct {
	Seq    int64       `json:"seq"`
	ID     events.ID   `json:"id"`
	Kind   events.Kind `json:"kind"`
	What   string      `json:"what"`             // the kind in the trade's words
	Points []string    `json:"points,omitempty"` // places it names
	Text   string      `json:"text,omitempty"`
	Staff  *float64    `json:"staff_mm,omitempty"`  // readings: as read, in mm
	Height *float64    `json:"height_mm,omitempty"` // readings: reduced
	Move   *float64    `json:"move_mm,omitempty"`   // jacking: the greatest move
	Voided string      `json:"voided,omitempty"`    // why it does not count
	Aside  string      `json:"aside,omitempty"`     // why it is set aside
}

var kindWords = map[events.Kind]string{
	events.KindPlan: "Plan", events.KindFound: "Found", events.KindAim: "Aim agreed", events.KindCondition: "Condition",
	events.KindSafetyCheck: "Safety check", events.KindTie: "Tie", events.KindTieFreed: "Tie freed", events.KindTieBack: "Tie back",
	events.KindFloorCut: "Floor cut", events.KindFloorClosed: "Floor closed", events.KindFinding: "Finding",
	events.KindFindingClosed: "Finding closed", events.KindSupportWork: "Support work", events.KindInspection: "Inspection", events.KindUnderFloor: "Under the floor",
	events.KindInstrumentCheck: "Instrument check", events.KindSetup: "Set-up", events.KindSetupClosed: "Set-up closed", events.KindReading: "Read", events.KindDifference: "Difference",
	events.KindBlocking: "Blocking", events.KindBlockingRemoved: "Blocking away", events.KindJacking: "Jacked", events.KindPacking: "Packed",
	events.KindJackDown: "Jack down", events.KindSigned: "Signed", events.KindGapReading: "Gap", events.KindIncident: "Incident",
	events.KindStop: "Stop", events.KindGoAhead: "Go-ahead", events.KindChange: "Change", events.KindChangeAnswered: "Change answered",
	events.KindDayEnd: "Day's end", events.KindHandover: "Hand-over", events.KindNote: "Note", events.KindVoid: "Void",
	events.KindErased: "Erased",
}

// KindWords names a kind in the trade's words, as the book does.
func KindWords(k events.Kind) string {
	if words := kindWords[k]; words != "" {
		return words
	}
	return string(k)
}

// notRead begins the text of a reading that could not be taken.
const notRead = "not read: "

// SayLine says the text of a line of the book, of which what was typed stays as it was.
func (w Words) SayLine(k events.Kind, text string) string {
	switch k {
	case events.KindPlan:
		return w.Say(text)
	case events.KindFound, events.KindSupportWork, events.KindReading: // their own words come first
		if own, _, _ := strings.Cut(text, ";"); !strings.HasPrefix(text, notRead) {
			return w.Say(own) + text[len(own):]
		}
	}
	return text
}

// Line describes one event of the job. Heights are those of the set-up's plane
// as the state has it.
func (s *State) Line(e events.Stored) Line { return s.line(Open(e)) }

func (s *State) line(e Opened) Line {
	l := Line{Seq: e.Seq, ID: e.ID, Kind: e.Kind, What: s.say(KindWords(e.Kind)), Voided: s.voids[e.ID], Aside: s.aside[e.ID].Reason}
	if e.Erased || s.gone[e.Seq] {
		l.Text = erased
		return l
	}
	if e.unread != nil {
		if l.Aside == "" {
			l.Aside = e.unread.Error()
		}
		return l
	}
	l.Points = e.Opened.Points()
	s.describe(&l, e.Opened)
	l.Text = s.words.SayLine(l.Kind, l.Text)
	if !e.From.IsZero() {
		l.Text = sentence(l.Text, "taken in by the office from what was kept apart")
	}
	return l
}

func (s *State) describe(l *Line, body events.Body) {
	switch b := body.(type) {
	case *events.Reading:
		s.describeReading(l, b)
	case *events.Jacking:
		describeJacking(l, b)
	case *events.Packing:
		p := packerOf(b)
		l.Text = sentence(string(b.Sort), joinWords(p.Pieces))
		if b.Gap != nil {
			l.Text = sentence(l.Text, "gap "+lengthWords(*b.Gap))
		}
	case *events.Setup:
		l.Text = sentence(b.Instrument, datumWords(b.Datums))
		if u := s.setups[l.ID]; u != nil {
			h := s.planeOf(u).MM
			l.Height = &h
		}
	case *events.SetupClosed:
		l.Text = datumWords(b.Datums)
	case *events.Plan:
		l.Text = fmt.Sprintf("%s on %s, %s", howMany(len(b.Supports), "support"), howMany(len(b.Bearers), "bearer"), howMany(len(b.Datums), "datum"))
	case *events.Aim:
		l.Text = sentence(string(b.Aim), "agreed by "+b.AgreedBy)
	default:
		l.Text = plainWords(body)
	}
}

func (s *State) describeReading(l *Line, b *events.Reading) {
	if b.NotRead != "" {
		l.Text = notRead + b.NotRead
		return
	}
	staff := b.Staff.MM()
	l.Staff = &staff
	l.Text = sentence(string(b.Face), b.Surface)
	if b.Staff.Unit != levelling.Millimetre {
		l.Text = sentence(l.Text, "read "+lengthWords(*b.Staff))
	}
	if u := s.setups[b.Setup]; u != nil {
		h := levelling.Reduce(s.planeOf(u), staff, u.sd).MM
		l.Height = &h
	}
}

func describeJacking(l *Line, b *events.Jacking) {
	var words []string
	most := 0.0
	for _, m := range b.Moves {
		words = append(words, fmt.Sprintf("%s by %s (%s)", m.Support, lengthWords(*m.By), m.Gauge))
		if math.Abs(m.By.MM()) > math.Abs(most) {
			most = m.By.MM()
		}
	}
	l.Move, l.Text = &most, joinWords(words)
}

func datumWords(readings []events.DatumReading) string {
	words := make([]string, len(readings))
	for i, r := range readings {
		words[i] = r.Datum + " " + lengthWords(*r.Staff)
	}
	return joinWords(words)
}

// plainWords describes the kinds whose words need nothing of the state.
func plainWords(body events.Body) string {
	switch b := body.(type) {
	case *events.Found:
		return sentence(string(b.What), b.ID, b.Note)
	case *events.Condition:
		return sentence(b.Room, conditionWords(b))
	case *events.SafetyCheck:
		return safetyWords(b)
	case *events.Tie:
		return sentence(b.What, b.Where)
	case *events.TieFreed:
		return sentence(b.Tie, b.How, b.Trade)
	case *events.TieBack:
		return sentence(b.Tie, b.Tested, b.Left)
	case *events.FloorCut:
		return sentence(b.Cut, b.Where, b.Services)
	case *events.FloorClosed:
		return sentence(b.Cut, b.How)
	case *events.Finding:
		return sentence(findingWords(b), followWords(b))
	case *events.FindingClosed:
		return b.How
	case *events.SupportWork:
		return workWords(b)
	case *events.Inspection:
		return sentence(b.Stage, b.Who+": "+b.Answer, b.Note)
	case *events.UnderFloor:
		return underFloorWords(b)
	case *events.InstrumentCheck:
		return sentence(b.Instrument, instrumentWords(b))
	case *events.Difference:
		return fmt.Sprintf("%s is %s above %s", b.To, lengthWords(*b.Rise), b.From)
	case *events.Blocking:
		return sentence(b.Place, b.What, "on "+b.Base)
	case *events.BlockingRemoved:
		return b.Place
	}
	return siteWords(body)
}

func siteWords(body events.Body) string {
	switch b := body.(type) {
	case *events.Signed:
		return signedWords(b)
	case *events.GapReading:
		return sentence(b.Gap, lengthWords(*b.Width))
	case *events.Incident:
		return sentence(b.What, b.Where, b.Done)
	case *events.Stop:
		return sentence(b.Why, "go-ahead by "+b.Ask)
	case *events.GoAhead:
		return goAheadWords(b)
	case *events.Change:
		return changeWords(b)
	case *events.ChangeAnswered:
		return answerWords(b)
	case *events.DayEnd:
		return sentence(joinWords(b.Left), b.Done)
	case *events.Handover:
		return sentence(b.Date, "present: "+b.Present, b.LeftOut)
	case *events.Note:
		return b.Text
	case *events.Void:
		return b.Why
	case *events.Erased:
		return erasedWords(b)
	}
	return ""
}
