package web

import (
	"slices"

	"relevel/events"
	"relevel/jobs"
)

// Reply is a form that stands on the page of what it speaks of: an answer, a
// closing, a go-ahead. Action is where it is sent.
type Reply struct {
	RecordPage
	Do      string // which of a page's forms it is
	Action  string
	Heading string
	Buttons []ReplyButton
}

// ReplyButton sends the form; where there are several, each says something else.
type ReplyButton struct{ Name, Value, Label string }

// The forms that stand on a page of what they speak of. What that is, the page
// itself says in a field that nobody fills in.
var replies = map[string]Form{
	"follow": {Kind: events.KindFinding, Title: "Who sees to it, and by when", Verb: "Record", Fields: []Field{
		{Name: "of", Input: Hidden, Need: true},
		{Name: "owner", Label: "Somebody of the firm", Input: OneOf, From: FromPeople, Open: true}, {Name: "trade", Label: "and the trade that mends it", Input: Words, Choices: trades, Open: true},
		{Name: "by", Label: "By when", Input: Date}, {Name: "answer", Label: "Answer", Note: "what was said or decided", Input: Text}}},
	"again": {Kind: events.KindFinding, Title: "Open it again", Verb: "Open it again", Fields: []Field{
		{Name: "of", Input: Hidden, Need: true}, {Name: "again", Input: Said, Need: true}, {Name: "answer", Label: "Why", Input: Text, Need: true}, {Name: "by", Label: "By when", Input: Date}}},
	"close": {Kind: events.KindFindingClosed, Title: "What closed it", Verb: "Close it", Fields: []Field{
		{Name: "finding", Input: Hidden, Need: true}, {Name: "how", Label: "What closed it", Input: Words, Choices: closings, Need: true}}},
	"go-ahead": {Kind: events.KindGoAhead, Title: "Go-ahead", Verb: "Go ahead", Fields: []Field{
		{Name: "stop", Input: Hidden, Need: true}, {Name: "who_of", Input: Hidden}, {Name: "who", Label: "Who gives it", Input: Words, From: FromMayGo, Need: true},
		{Name: "why", Label: "Why", Note: "needed where it is not who was named", Input: Text, Open: true}}},
	"answer": {Kind: events.KindChangeAnswered, Title: "The owner’s answer", Verb: "Record", Fields: []Field{
		{Name: "change", Input: Hidden, Need: true}, {Name: "accepted", Input: Said}, {Name: "name", Label: "Name of the owner", Input: Words, Need: true},
		{Name: "how", Label: "How it was answered", Input: Words, Choices: answerWays, Need: true}, {Name: "why", Label: "What was said", Input: Text}}},
	"withdraw": {Kind: events.KindChangeAnswered, Title: "Take it back before it is answered", Verb: "Withdraw it", Fields: []Field{
		{Name: "change", Input: Hidden, Need: true}, {Name: "withdrawn", Input: Said, Need: true}, {Name: "name", Label: "Who takes it back", Input: Words, From: FromNames, Need: true},
		{Name: "why", Label: "Why", Input: Text, Need: true}}},
}

// ReplyForm finds the form of a reply.
func ReplyForm(do string) (Form, bool) {
	f, ok := replies[do]
	return f, ok
}

// mayGo names who may give a go-ahead: who was named for the stop in hand, then
// the office.
func (s Sources) mayGo() []Choice {
	var names []string
	add := func(name string) {
		if name != "" && !contains(names, name) {
			names = append(names, name)
		}
	}
	add(s.Named)
	for _, p := range s.People {
		if p.Role == jobs.Office {
			add(p.Name)
		}
	}
	return same(names...)
}

func (s Sources) names() []Choice {
	var names []string
	for _, p := range s.People {
		names = append(names, p.Name)
	}
	return same(names...)
}

// allChanges lists the changes, the latest first.
func (s Sources) allChanges() []Choice {
	var cs []Choice
	for _, c := range slices.Backward(s.Picture.Changes) {
		cs = append(cs, Choice{c.ID.String(), c.Text + ", " + string(c.State)})
	}
	return cs
}
