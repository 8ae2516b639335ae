package jobs

import (
	"cmp"
	"slices"
	"time"

	"relevel/events"
)

// Entry is one event of the book with its body open and its files: what pages
// say of a record beyond the words that the state keeps of it. Of what does not
// count the files are still there to be looked at, and Apart says why.
type Entry struct {
	ID    events.ID
	Seq   int64
	At    time.Time
	By    events.ID
	Kind  events.Kind
	Body  events.Body // nil where it was erased, or a newer program is needed
	Files []events.File
	Text  string   // what the book says
	MM    *float64 // the height of a reading, as the book has it
	Apart string   // why it does not count; "" where it does
}

// Opened is an event with its body open, and without its bytes.
type Opened struct {
	events.Stored
	Opened events.Body // nil where it was erased, or a newer program is needed
	unread error       // why it is nil, unless it was erased
}

// Open opens an event.
func Open(e events.Stored) Opened {
	o := Opened{Stored: e}
	if !e.Erased {
		o.Opened, o.unread = events.Open(e.Kind, e.V, e.Body)
	}
	o.Raw, o.Body, o.Salt = nil, nil, nil
	return o
}

// Entry is an event as the state takes it.
func (s *State) Entry(e Opened) Entry {
	line := s.line(e)
	out := Entry{ID: e.ID, Seq: e.Seq, At: e.At, By: e.By, Kind: e.Kind, Body: e.Opened, Files: s.kept(e.Stored), Text: line.Text, MM: line.Height}
	switch {
	case e.Erased || s.gone[e.Seq]:
		out.Apart, out.Files, out.Body = erased, nil, nil
		out.At, out.By = time.Time{}, events.ID{}
	case line.Voided != "":
		out.Apart = "void: " + line.Voided
	case line.Aside != "":
		out.Apart = "set aside: " + line.Aside
	}
	return out
}

// Counting are the entries that count, in the order in which things happened on
// site: what a phone recorded below may arrive days later.
func Counting(all []Entry) []Entry {
	var out []Entry
	for _, e := range all {
		if e.Apart == "" && e.Body != nil {
			out = append(out, e)
		}
	}
	slices.SortStableFunc(out, func(a, b Entry) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Seq, b.Seq)) })
	return out
}
