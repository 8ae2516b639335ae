package web

import (
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// Form describes how one kind of event is recorded. Pages are made from the
// description, and so is the body of the event.
type Form struct {
	Kind    events.Kind
	Verb    string // on buttons, in the imperative
	Title   string
	Help    string // how it is done
	Caution string // where figures or a slip could hurt somebody
	Fields  []Field
	Rows    *Rows
	Once    bool // an event for each filled row, instead of one with all rows
	Sorts   []Sort
	Sort    string // the one of them that the form is for
}

// Sort is one of several ways to do what a form records, the first the usual
// one. A hidden field "sort" says which, and a page shows the fields of that
// alone.
type Sort struct{ Value, Title, Help, Instead string }

// Of returns a form as it is for one sort, or as it is where it has none.
func (f Form) Of(sort string) Form {
	if len(f.Sorts) == 0 {
		return f
	}
	of := f.Sorts[0]
	for _, s := range f.Sorts {
		if s.Value == sort {
			of = s
		}
	}
	fields := []Field{}
	for _, field := range f.Fields {
		if field.Only == "" || field.Only == of.Value {
			fields = append(fields, field)
		}
	}
	f.Sort, f.Title, f.Help, f.Fields = of.Value, of.Title, of.Help, fields
	return f
}

// LabelOf is what a form calls a part of the body, in rows too; the path of what the
// form does not ask for.
func (f Form) LabelOf(path string) string {
	fields, name := f.Fields, path
	if f.Rows != nil && strings.HasPrefix(path, f.Rows.Name+"[") {
		fields = f.Rows.Fields
		_, name, _ = strings.Cut(path, "].")
	}
	for _, field := range fields {
		if field.Name == name {
			return field.Label
		}
	}
	return path
}

// Field is one thing to fill in. Name is its path in the body.
type Field struct {
	Name    string
	Label   string
	Note    string
	Lead    Action // to a page where what is to be chosen can be added
	Input   Input
	Choices []Choice // of a choice that is always the same
	From    Source   // of a choice that depends on the job
	None    string   // what no choice of it means, where that has words
	Need    bool
	Minus   bool   // may be below nought, so the keys must have a minus
	Open    bool   // a page does not say that it may stay empty: something else tells
	Keep    bool   // offered again as it was the last time on this device
	More    bool   // seldom filled in: a page folds it away, in rows under Rows.More
	Only    string // the one sort of the form that it belongs to
	Or      string // of those with the same word one has to be filled in, or some row
	With    string // the field without which this one means nothing
}

// Input is how a field is filled in.
type Input string

// The inputs.
const (
	Words    Input = "words"
	Text     Input = "text" // several lines
	Length   Input = "length"
	Number   Input = "number"
	Whole    Input = "whole"
	Yes      Input = "yes"
	Date     Input = "date"
	Dates    Input = "dates"   // several, with commas
	List     Input = "list"    // several words, with commas
	Lines    Input = "lines"   // several words, one on each line
	Numbers  Input = "numbers" // several, with commas
	OneOf    Input = "one"
	Points   Input = "points"   // several supports
	Outline  Input = "outline"  // two opposite corners on the plan, in metres
	Spot     Input = "spot"     // one place on the plan, in metres
	Caps     Input = "caps"     // mm for each of several supports
	Reasons  Input = "reasons"  // why, for each of several supports, one on each line
	Document Input = "document" // the whole body as JSON
	Hidden   Input = "hidden"   // said by the link that led to the form
	Said     Input = "said"     // a yes that the page itself says
)

// Rows are a list in the body of which each entry is about one thing of the
// job: a datum, a support. An entry nobody filled in is left out.
type Rows struct {
	Name   string // of the list in the body
	Key    string // of the field that says what the row is about; "" for none
	From   Source
	Count  int // of rows that are about nothing yet
	Label  string
	Fields []Field
	First  bool   // what the form is for: it stands above the fields
	Fold   bool   // all but the first row are folded away
	More   string // what is folded away of each row, in words
	Flip   Flip
}

// Flip is a tick that turns the sign of one field of every row: the keys that a
// phone shows for figures often lack a minus.
type Flip struct{ Name, Label, Of string }

// Choice is one of several.
type Choice struct{ Value, Label string }

// Source names choices that depend on the job.
type Source string

// The sources.
const (
	FromSupports  Source = "supports"
	FromPlaces    Source = "places" // supports and spots
	FromDatums    Source = "datums"
	FromSetups    Source = "setups"
	FromStops     Source = "stops"
	FromFindings  Source = "findings"
	FromChanges   Source = "changes"
	FromTies      Source = "ties"
	FromCuts      Source = "cuts"
	FromRooms     Source = "rooms"
	FromPeople    Source = "people"
	FromReadings  Source = "readings"
	FromSentences Source = "sentences"
	FromBearer    Source = "bearer" // the supports of the bearer in hand
	FromBlockings Source = "blockings"
	FromGaps      Source = "gaps"
	FromFound     Source = "found"  // what is found wrong, in the usual words
	FromCauses    Source = "causes" // of a drop

	FromAllChanges Source = "all-changes" // answered or not

	FromMayGo Source = "may-go" // who may give the go-ahead to the stop in hand
	FromNames Source = "names"  // of the firm's people

	FromInstruments Source = "instruments"
	FromProfiles    Source = "profiles"
	FromJacks       Source = "jacks"
)

// Sources is what a form takes its choices from.
type Sources struct {
	Words     jobs.Words
	Picture   jobs.Picture
	People    []jobs.Person
	Recorders []jobs.Person // in whose name it may be recorded
	InOwnName bool          // nobody but who is signed in may be chosen
	Support   string        // the support in hand, "" without one
	With      []string      // those that are moved together with it
	Readings  []Choice
	Profiles  []jobs.Profile // of the firm's own
	Jacks     []jobs.Jack    // of its kit
	Lasers    []jobs.Laser
	Now       time.Time // tells whose inspection is overdue
	Named     string    // who may give the go-ahead to the stop in hand
}

// Choices lists what a source offers now, the likely one first.
func (s Sources) Choices(from Source) []Choice {
	p := s.Picture
	switch from {
	case FromSupports:
		return s.supports()
	case FromPlaces:
		return append(s.supports(), s.spots()...)
	case FromBearer:
		return s.bearer()
	case FromDatums:
		return s.datums()
	case FromSetups:
		return s.setups()
	case FromStops:
		return open(s.near(p.Stops))
	case FromFindings:
		return open(s.near(p.Lists.Findings))
	case FromChanges:
		return open(p.Lists.Changes)
	case FromTies:
		return named(s.near(p.Lists.Ties))
	case FromCuts:
		return named(p.Lists.Cuts)
	case FromRooms:
		return s.rooms()
	case FromPeople:
		return s.people()
	case FromReadings:
		return s.Readings
	case FromSentences:
		return sayChoices(sentences, s.Words)
	case FromBlockings:
		return s.blockings()
	case FromGaps:
		return s.gaps()
	case FromFound:
		return found
	case FromCauses:
		return causes
	case FromAllChanges:
		return s.allChanges()
	case FromMayGo:
		return s.mayGo()
	case FromNames:
		return s.names()
	case FromInstruments:
		return s.instruments()
	case FromJacks:
		return s.jacks()
	case FromProfiles:
		return s.profiles()
	}
	return nil
}

// near puts what is about the support in hand first.
func (s Sources) near(items []jobs.Item) []jobs.Item {
	var first, rest []jobs.Item
	for _, it := range items {
		if s.Support != "" && contains(it.Supports, s.Support) {
			first = append(first, it)
		} else {
			rest = append(rest, it)
		}
	}
	return append(first, rest...)
}

func (s Sources) supports() []Choice {
	var cs []Choice
	for _, u := range s.Picture.Supports {
		if !u.NoneHere {
			cs = append(cs, Choice{u.ID, u.ID})
		}
	}
	return cs
}

func (s Sources) spots() []Choice {
	var cs []Choice
	for _, u := range s.Picture.Spots {
		cs = append(cs, Choice{u.ID, u.ID})
	}
	return cs
}

// bearer lists the support in hand, those that go with it and the others along
// its bearer; without one all supports of the floor.
func (s Sources) bearer() []Choice {
	if s.Support == "" {
		return append(s.supports(), s.spots()...)
	}
	ids := append([]string{s.Support}, s.With...)
	for _, b := range s.Picture.Plan.Bearers {
		if !contains(b.Supports, s.Support) {
			continue
		}
		for _, id := range b.Supports {
			if !contains(ids, id) {
				ids = append(ids, id)
			}
		}
	}
	return same(ids...)
}

func contains(list []string, want string) bool {
	for _, s := range list {
		if s == want {
			return true
		}
	}
	return false
}

func (s Sources) datums() []Choice {
	var cs []Choice
	for _, d := range s.Picture.Datums {
		label := d.ID
		if d.StandsOn != "" {
			label += ", on " + d.StandsOn
		}
		cs = append(cs, Choice{d.ID, label})
	}
	return cs
}

func (s Sources) setups() []Choice {
	var cs []Choice
	for _, u := range s.Picture.Setups {
		if u.Closed {
			continue
		}
		label := u.Instrument + ", " + u.At.Format("2 Jan 15:04")
		if u.CheckDue {
			label += ", its check is out of date"
		}
		cs = append(cs, Choice{u.ID.String(), label})
	}
	return cs
}

func (s Sources) gaps() []Choice {
	var cs []Choice
	for _, g := range s.Picture.Gaps {
		cs = append(cs, Choice{g.Name, g.Name})
	}
	return cs
}

func (s Sources) blockings() []Choice {
	var cs []Choice
	for _, b := range s.Picture.Blockings {
		cs = append(cs, Choice{b.Place, b.Place + ", under " + strings.Join(b.Supports, ", ")})
	}
	return cs
}

func (s Sources) rooms() []Choice {
	var cs []Choice
	for _, r := range s.Picture.Plan.Rooms {
		cs = append(cs, Choice{r.Name, r.Name})
	}
	return cs
}

func (s Sources) people() []Choice {
	var cs []Choice
	for _, p := range s.People {
		cs = append(cs, Choice{p.ID.String(), p.Name})
	}
	return cs
}

func open(items []jobs.Item) []Choice {
	var cs []Choice
	for _, it := range items {
		if it.Open {
			cs = append(cs, Choice{it.ID.String(), it.Text})
		}
	}
	return cs
}

// named lists the names of ties and cuts, those still open first.
func named(items []jobs.Item) []Choice {
	var first, rest []Choice
	for _, it := range items {
		c := Choice{it.Name, it.Name}
		if it.Text != "" && it.Text != it.Name {
			c.Label += ": " + it.Text
		}
		if it.Open {
			first = append(first, c)
		} else {
			rest = append(rest, c)
		}
	}
	return append(first, rest...)
}

func same(values ...string) []Choice {
	cs := make([]Choice, len(values))
	for i, v := range values {
		cs[i] = Choice{v, v}
	}
	return cs
}
