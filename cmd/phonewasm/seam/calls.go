package seam

import (
	"encoding/json"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/levelling/calc"
)

// asked is what a request may say; each call reads what it needs.
type asked struct {
	Job         events.ID         `json:"job"`
	Now         time.Time         `json:"now"`
	Units       levelling.Unit    `json:"units"`
	Events      []json.RawMessage `json:"events"`
	IDs         []events.ID       `json:"ids"`
	Names       []string          `json:"names"`
	Limit       int               `json:"limit"`
	Support     string            `json:"support"`
	MoveMM      float64           `json:"move_mm"`
	ThicknessMM float64           `json:"thickness_mm"`
	BagLitres   float64           `json:"bag_litres"`
	MarginMM    float64           `json:"margin_mm"`
	Profiles    []jobs.Profile    `json:"profiles"`
	Practice    jobs.Practice     `json:"practice"`
	drawn
	Name  string          `json:"name"`
	Input json.RawMessage `json:"input"`
}

func take(b *book, a asked) (any, error) { return b.each(a.Events, b.take), nil }

func record(b *book, a asked) (any, error) { return b.each(a.Events, b.record), nil }

func drop(b *book, a asked) (any, error) {
	for _, id := range a.IDs {
		b.drop(id)
	}
	return b.each(nil, nil), nil
}

func state(b *book, a asked) (any, error) { return b.picture(a.Now), nil }

func figures(b *book, a asked) (any, error) { return b.state().Figures(a.Now, a.Names...), nil }

func lines(b *book, a asked) (any, error) {
	if a.Limit < 1 {
		return nil, levelling.Bad("limit", "how many lines, from 1")
	}
	return b.lines(a.Limit), nil
}

// carried is what the plan says of one support; either part may be unknown.
type carried struct {
	Carrying *jobs.Carrying `json:"carrying,omitempty"`
	Load     *jobs.Load     `json:"load,omitempty"`
}

// mostPad is the thickest pad and the largest bag that are asked for.
const mostPad = 10_000

func carrying(b *book, a asked) (any, error) {
	switch {
	case a.ThicknessMM < 0 || a.ThicknessMM > mostPad:
		return nil, levelling.Bad("thickness_mm", "a number above 0, or nothing")
	case a.BagLitres < 0 || a.BagLitres > mostPad:
		return nil, levelling.Bad("bag_litres", "a number above 0, or nothing")
	case len(b.state().Figures(a.Now, a.Support)) == 0:
		return nil, levelling.Bad("support", "one of the plan")
	}
	var out carried
	if c, has := b.state().Carrying(a.Support, a.MoveMM); has {
		out.Carrying = &c
	}
	if l, has := b.state().LoadOn(a.Support, jobs.Pour{ThicknessMM: a.ThicknessMM, BagM3: a.BagLitres / 1000}); has {
		out.Load = &l
	}
	return out, nil
}

// mostMargin is the widest margin an aim can be agreed with, mm.
const mostMargin = 100

func choices(b *book, a asked) (any, error) {
	if a.MarginMM < 0 || a.MarginMM > mostMargin {
		return nil, levelling.Bad("margin_mm", "a number from 0 to 100, mm")
	}
	for _, p := range a.Profiles {
		if err := p.Check(); err != nil {
			return nil, err
		}
	}
	return append([]jobs.Choice{}, b.state().Choices(a.MarginMM, a.Profiles...)...), nil
}

func packers(b *book, a asked) (any, error) {
	if err := a.Practice.Check(); err != nil {
		return nil, err
	}
	return append([]jobs.Cutting{}, b.state().CuttingList(a.Practice.Packers(), a.Now)...), nil
}

// forget lets a book go.
func (s *Seam) forget(a asked) (any, error) {
	delete(s.books, a.Job)
	return struct{}{}, nil
}

func (s *Seam) calc(a asked) (any, error) {
	answer, err := calc.Run(a.Name, a.Input)
	return json.RawMessage(answer), err
}
