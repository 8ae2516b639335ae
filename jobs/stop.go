package jobs

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"relevel/events"
)

// Stop is one stop, and what was said to end it.
type Stop struct {
	Item                   // its name is who may give the go-ahead
	AskOf    events.ID     `json:"ask_of,omitzero"`
	Device   events.ID     `json:"device"` // on which it was recorded
	Files    []events.File `json:"files,omitempty"`
	GoAheads []GoAhead     `json:"go_aheads,omitempty"`
}

// GoAhead is one that was given: by whom, and whether it ended the stop.
type GoAhead struct {
	Said
	Who   string    `json:"who"`
	WhoOf events.ID `json:"who_of,omitzero"`
	Why   string    `json:"why,omitempty"`
	Named bool      `json:"named,omitempty"` // who gave it is who was named
	Ended bool      `json:"ended,omitempty"`
}

// stop is one while it is folded; its item is the one in the list. end is the
// go-ahead that ended it.
type stop struct {
	item *Item
	view Stop
	end  *heard
}

// heard is what tells whether a device knew of an event when it recorded another.
type heard struct {
	device events.ID
	seq    int64
}

func heardOf(e placed) heard { return heard{e.Device, e.Seq} }

// by reports whether the device of an event knew: it had recorded it, or seen it.
func (h heard) by(e placed) bool { return e.Device == h.device || e.SeenSeq >= h.seq }

func (t *stop) clone(item func(*Item) *Item) *stop {
	c := *t
	c.item, c.view.GoAheads, c.end = item(t.item), slices.Clone(t.view.GoAheads), again(t.end)
	return &c
}

func (s *State) stopWork(e placed, b *events.Stop) {
	l := &s.lists
	it := l.await(&l.stops, e.Kind, itemOf(e, b.Ask, b.Why))
	it.Supports = b.Supports
	l.stop[e.ID] = &stop{item: it, view: Stop{AskOf: b.AskOf, Device: e.Device, Files: slices.Clone(e.Files)}}
	s.stoppedAt(b.Supports)
	s.touch(e, b.Supports...)
}

// goAhead takes a go-ahead. It ends the stop when who was named gave it, or
// another with a reason. Otherwise the stop stays, and says why.
func (s *State) goAhead(e placed, b *events.GoAhead) {
	if s.awaitedItem(e, reference{events.KindStop, b.Stop}) == nil {
		return
	}
	t := s.lists.stop[b.Stop]
	why := strings.TrimSpace(b.Why)
	g := GoAhead{Said: saidOf(e, goAheadWords(b)), Who: b.Who, WhoOf: b.WhoOf, Why: why, Named: t.named(e, b)}
	g.Ended = t.item.Open && (g.Named || why != "")
	switch {
	case !t.item.Open:
	case !g.Ended:
		s.flag(e, fmt.Sprintf("%s gave a go-ahead, was not named and gave no reason: the stop stays until %s gives it, or somebody of the office with a reason", b.Who, t.item.Name))
	default:
		if !g.Named {
			s.flag(e, fmt.Sprintf("go-ahead given by %s, where %s was named; reason: %s", b.Who, t.item.Name, why))
		}
		t.item.Open, t.item.Closed = false, goAheadWords(b)
		end := heardOf(e)
		t.end = &end
		s.touch(e, t.item.Supports...)
	}
	t.view.GoAheads = append(t.view.GoAheads, g)
}

// named tells whether a go-ahead is from the one who may give it, or recorded by
// that one without saying who gives it by id.
func (t *stop) named(e placed, b *events.GoAhead) bool {
	asked := Stop{Item: *t.item, AskOf: t.view.AskOf}
	return asked.MayEnd(b.Who, b.WhoOf) || !asked.AskOf.IsZero() && b.WhoOf.IsZero() && e.By == asked.AskOf
}

// MayEnd tells whether somebody is the one who may give the go-ahead: by id,
// where both have one, or by the words, to which more may be added.
func (s Stop) MayEnd(who string, whoOf events.ID) bool {
	if !s.AskOf.IsZero() && !whoOf.IsZero() {
		return s.AskOf == whoOf
	}
	who, ask := strings.ToLower(strings.TrimSpace(who)), strings.ToLower(strings.TrimSpace(s.Name))
	rest, begins := strings.CutPrefix(who, ask)
	next, _ := utf8.DecodeRuneInString(rest)
	return begins && (rest == "" || !unicode.IsLetter(next) && !unicode.IsDigit(next))
}

func goAheadWords(b *events.GoAhead) string { return sentence("go-ahead by "+b.Who, b.Why) }

// flagStopped says that something was done at a support while it was stopped, or
// by somebody for whom it still was.
func (s *State) flagStopped(e placed, support, did string) {
	for _, it := range s.lists.stops {
		if len(it.Supports) > 0 && !slices.Contains(it.Supports, support) {
			continue
		}
		t := s.lists.stop[it.ID]
		knew := heard{t.view.Device, it.Seq}.by(e)
		switch {
		case it.Open && !knew:
			s.flag(e, support+" was "+did+" while stopped, on a phone that had not heard of the stop")
			return
		case it.Open:
			s.flag(e, support+" was "+did+" while stopped")
			return
		case t.end != nil && knew && !t.end.by(e):
			s.flag(e, support+" was "+did+" after the go-ahead, on a phone that had not heard of it")
			return
		}
	}
}

// stopViews lists the stops with what was said to end them.
func (l *lists) stopViews() []Stop {
	var out []Stop
	for _, it := range l.stops {
		t := l.stop[it.ID]
		v := t.view
		v.Item = *it
		v.Supports, v.GoAheads = slices.Clone(it.Supports), slices.Clone(t.view.GoAheads)
		out = append(out, v)
	}
	return out
}

// stopped returns the stop that stands at a support, or nil. One that names no
// supports stands at all, also at those that are found or drawn after it.
func (l *lists) stopped(support string) *Item {
	for _, it := range l.stops {
		if it.Open && (len(it.Supports) == 0 || slices.Contains(it.Supports, support)) {
			return it
		}
	}
	return nil
}
