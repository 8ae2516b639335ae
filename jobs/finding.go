package jobs

import (
	"slices"
	"time"

	"relevel/events"
)

// Finding is one thing that was found, who sees to it, and what became of it.
type Finding struct {
	Item
	What     string        `json:"what"`
	HowBad   string        `json:"how_bad,omitempty"`
	Where    string        `json:"where,omitempty"`
	Cause    string        `json:"cause,omitempty"`
	Owner    events.ID     `json:"owner,omitzero"`  // who of the firm sees to it
	Trade    string        `json:"trade,omitempty"` // or a trade outside
	Due      string        `json:"due,omitempty"`   // the day by which
	Overdue  bool          `json:"overdue,omitempty"`
	ClosedAt time.Time     `json:"closed_at,omitzero"`
	Files    []events.File `json:"files,omitempty"`
	Since    []Said        `json:"since,omitempty"` // what was said of it since, in order
}

// Said is one record that says more of an earlier one.
type Said struct {
	ID    events.ID     `json:"id"`
	Seq   int64         `json:"seq"`
	At    time.Time     `json:"at"`
	By    events.ID     `json:"by"`
	Text  string        `json:"text,omitempty"`
	Owner events.ID     `json:"owner,omitzero"` // to whom it was given, whose name the texts do not hold
	Files []events.File `json:"files,omitempty"`
}

func saidOf(e placed, text string) Said {
	return Said{ID: e.ID, Seq: e.Seq, At: e.key.at, By: e.By, Text: text, Files: slices.Clone(e.Files)}
}

// finding is one while it is folded; its item is the one in the list.
type finding struct {
	item *Item
	view Finding
}

func (f *finding) clone(item func(*Item) *Item) *finding {
	c := *f
	c.item, c.view.Since = item(f.item), slices.Clone(f.view.Since)
	return &c
}

// takeFinding records a finding, or what is said of an earlier one.
func (s *State) takeFinding(e placed, b *events.Finding) {
	if !b.Of.IsZero() {
		s.followFinding(e, b)
		return
	}
	l := &s.lists
	it := l.await(&l.findings, e.Kind, itemOf(e, "", findingWords(b)))
	it.Supports = b.Supports
	l.finding[e.ID] = &finding{it, Finding{
		What: b.What, HowBad: b.HowBad, Where: b.Where, Cause: b.Cause, Owner: b.Owner, Trade: b.Trade, Due: b.By, Files: slices.Clone(e.Files),
	}}
	s.touch(e, b.Supports...)
}

// followFinding takes what is said of an earlier finding. Person and trade go
// together: whoever has it now, nobody had it before.
func (s *State) followFinding(e placed, b *events.Finding) {
	f := s.foundBefore(e, b.Of)
	if f == nil {
		return
	}
	v := &f.view
	if !b.Owner.IsZero() || b.Trade != "" {
		v.Owner, v.Trade = b.Owner, b.Trade
	}
	if b.By != "" {
		v.Due = b.By
	}
	if b.Again {
		f.item.Open, f.item.Closed, v.ClosedAt = true, "", time.Time{}
	}
	said := saidOf(e, followWords(b))
	said.Owner = b.Owner
	v.Since = append(v.Since, said)
	s.touch(e, f.item.Supports...)
}

func (s *State) closeFinding(e placed, b *events.FindingClosed) {
	f := s.foundBefore(e, b.Finding)
	if f == nil {
		return
	}
	f.item.Open, f.item.Closed, f.view.ClosedAt = false, b.How, e.key.at
	f.view.Since = append(f.view.Since, saidOf(e, "closed: "+b.How))
	s.touch(e, f.item.Supports...)
}

// foundBefore is the finding another record speaks of. While it is not there
// that record waits for it.
func (s *State) foundBefore(e placed, id events.ID) *finding {
	if s.awaitedItem(e, reference{events.KindFinding, id}) == nil {
		return nil
	}
	return s.lists.finding[id]
}

// followWords says what a record adds to an earlier finding, but to whom it gives it.
func followWords(b *events.Finding) string {
	var words []string
	if b.Again {
		words = append(words, "open again")
	}
	if b.Trade != "" {
		words = append(words, "trade: "+b.Trade)
	}
	if b.By != "" {
		words = append(words, "by "+DayWords(b.By))
	}
	return sentence(sentence(words...), b.Answer)
}

// findingViews lists the findings as they stand on a day.
func (l *lists) findingViews(now time.Time) []Finding {
	if len(l.findings) == 0 {
		return nil
	}
	today := now.Format(time.DateOnly)
	out := make([]Finding, len(l.findings))
	for i, it := range l.findings {
		f := l.finding[it.ID]
		out[i] = f.view
		out[i].Item = *it
		out[i].Supports, out[i].Since = slices.Clone(it.Supports), slices.Clone(f.view.Since)
		out[i].Overdue = it.Open && f.view.Due != "" && f.view.Due < today
	}
	return out
}
