package jobs

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"relevel/events"
)

// Change is a change to what was agreed, as it stands.
type Change struct {
	Item
	What       string        `json:"what"` // without the amount
	Amount     *float64      `json:"amount,omitempty"`
	Currency   string        `json:"currency,omitempty"`
	State      ChangeState   `json:"state"`
	Answer     *Answer       `json:"answer,omitempty"`
	Follows    events.ID     `json:"follows,omitzero"`
	FollowedBy events.ID     `json:"followed_by,omitzero"`
	Files      []events.File `json:"files,omitempty"`
}

// ChangeState is how a change stands with the owner.
type ChangeState string

// The states of a change.
const (
	ChangeAsked     ChangeState = "asked"
	ChangeAgreed    ChangeState = "agreed"
	ChangeDeclined  ChangeState = "declined"
	ChangeWithdrawn ChangeState = "withdrawn"
)

// Answer is what was said to a change.
type Answer struct {
	Said
	Name  string    `json:"name"`
	How   string    `json:"how,omitempty"`
	Why   string    `json:"why,omitempty"`
	Share events.ID `json:"share,omitzero"` // the owner's link by which it came
}

// change is one while it is folded; its item is the one in the list.
type change struct {
	item *Item
	view Change
}

func (c *change) clone(item func(*Item) *Item) *change {
	copied := *c
	copied.item, copied.view.Answer = item(c.item), again(c.view.Answer)
	return &copied
}

// takeChange records a change. One that was not answered yet is withdrawn by the
// one that follows it; one that was answered stays as it is.
func (s *State) takeChange(e placed, b *events.Change) {
	l := &s.lists
	it := l.await(&l.changes, e.Kind, itemOf(e, "", changeWords(b)))
	l.change[e.ID] = &change{it, Change{
		What: b.Text, Amount: again(b.Amount), Currency: strings.TrimSpace(b.Currency), State: ChangeAsked, Follows: b.Follows, Files: slices.Clone(e.Files),
	}}
	if b.Follows.IsZero() || b.Follows == e.ID {
		return
	}
	s.pull(b.Follows)
	was := l.change[b.Follows]
	if was == nil {
		s.waits[b.Follows.String()] = true
		s.flag(e, "the change it follows is not in the log yet, or does not count")
		return
	}
	was.view.FollowedBy = e.ID
	if was.view.State == ChangeAsked {
		was.view.State = ChangeWithdrawn
		was.item.Open, was.item.Closed = false, "withdrawn: another change follows it"
	}
}

// answerChange takes the owner's answer. The first one stands: what was answered
// is not turned round, but followed by another change.
func (s *State) answerChange(e placed, b *events.ChangeAnswered) {
	if s.awaitedItem(e, reference{events.KindChange, b.Change}) == nil {
		return
	}
	c := s.lists.change[b.Change]
	if c.view.State != ChangeAsked {
		s.flag(e, fmt.Sprintf("the change was %s before: what is other now is another change that follows it", c.view.State))
		return
	}
	c.view.State = stateBy(b)
	c.view.Answer = &Answer{Said: saidOf(e, answerWords(b)), Name: b.Name, How: b.How, Why: b.Why, Share: b.Share}
	c.item.Open, c.item.Closed = false, answerWords(b)
}

func stateBy(b *events.ChangeAnswered) ChangeState {
	switch {
	case b.Withdrawn:
		return ChangeWithdrawn
	case b.Accepted:
		return ChangeAgreed
	}
	return ChangeDeclined
}

func answerWords(b *events.ChangeAnswered) string {
	words := map[ChangeState]string{ChangeAgreed: "accepted", ChangeDeclined: "declined", ChangeWithdrawn: "withdrawn"}[stateBy(b)]
	words += " by " + b.Name
	if b.How != "" {
		words += ", " + b.How
	}
	return sentence(words, b.Why)
}

// changeViews lists the changes with their answers.
func (l *lists) changeViews() []Change {
	var out []Change
	for _, it := range l.changes {
		v := l.change[it.ID].view
		v.Item, v.Answer, v.Amount = *it, again(v.Answer), again(v.Amount)
		out = append(out, v)
	}
	return out
}

// Sum is what was agreed in one currency, as it was typed. Currencies are never
// added up across.
type Sum struct {
	Currency string
	Cents    int64 // hundredths
	Changes  int
}

// Words write a sum as an amount.
func (s Sum) Words() string {
	amount := float64(s.Cents) / 100
	return AmountWords(&amount, s.Currency)
}

// Agreed adds up what was agreed, each currency by itself, in the order in which
// they came.
func Agreed(changes []Change) []Sum {
	var sums []Sum
	for _, c := range changes {
		if c.State != ChangeAgreed || c.Amount == nil {
			continue
		}
		i := slices.IndexFunc(sums, func(s Sum) bool { return s.Currency == c.Currency })
		if i < 0 {
			i = len(sums)
			sums = append(sums, Sum{Currency: c.Currency})
		}
		sums[i].Cents += cents(*c.Amount)
		sums[i].Changes++
	}
	return sums
}

// cents rounds an amount to hundredths: amounts are added as they are written.
func cents(amount float64) int64 {
	if amount < 0 {
		return -int64(float64(-amount*100) + 0.5)
	}
	return int64(float64(amount*100) + 0.5)
}

// AmountWords writes an amount in its currency, "" where there is none.
func AmountWords(amount *float64, currency string) string {
	if amount == nil {
		return ""
	}
	return strings.TrimSpace(fmt.Sprintf("%.2f %s", *amount, currency))
}

// On is the day a change was put, by the clock of the site.
func (c Change) On() string { return c.At.Format(time.DateOnly) }
