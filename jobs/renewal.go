package jobs

import (
	"slices"
	"time"

	"relevel/events"
)

// renewalSteps are what a support that is replaced goes through, in the usual
// order. Only some are done everywhere: a cap keeps damp and termites off timber.
var renewalSteps = []events.WorkStep{
	events.TakenOut, events.Dug, events.SeenInspector, events.Poured, events.CarriesFrom, events.Set, events.Capped, events.Refixed,
}

// WorkDone is one step of replacing a support.
type WorkDone struct {
	Step  events.WorkStep `json:"step"`
	Words string          `json:"words"`
	Done  bool            `json:"done,omitempty"`
	At    time.Time       `json:"at,omitzero"`
	Seq   int64           `json:"seq,omitempty"`
}

// renew notes a step. Taking the support out begins anew, and so does the hole
// that is dug for it.
func (w *work) renew(e placed, b *events.SupportWork) {
	from := slices.Index(renewalSteps, b.Step)
	w.renewed = slices.DeleteFunc(slices.Clone(w.renewed), func(d WorkDone) bool {
		before := slices.Index(renewalSteps, d.Step)
		return before == from || before > from && (b.Step == events.TakenOut || b.Step == events.Dug)
	})
	w.renewed = append(w.renewed, WorkDone{b.Step, workWords(b), true, e.key.at, e.Seq})
}

func (w *work) has(step events.WorkStep) bool {
	return slices.ContainsFunc(w.renewed, func(d WorkDone) bool { return d.Step == step })
}

// holeOpen tells that a hole was dug and not filled yet, nor a support set in it.
func (w *work) holeOpen() bool {
	return w.has(events.Dug) && !w.has(events.Poured) && !w.has(events.Set)
}

// renewal lists the steps that were done and those to come; nil where nothing is
// replaced.
func (s *State) renewal(w *work) []WorkDone {
	if !w.has(events.TakenOut) && !w.has(events.Dug) && !w.has(events.Poured) && !w.has(events.Set) {
		return nil
	}
	out := make([]WorkDone, 0, len(renewalSteps))
	for _, step := range renewalSteps {
		if i := slices.IndexFunc(w.renewed, func(d WorkDone) bool { return d.Step == step }); i >= 0 {
			done := w.renewed[i]
			done.Words = s.workSaid(step, done.Words)
			out = append(out, done)
			continue
		}
		words := s.say(stepWords[step])
		if step == events.CarriesFrom {
			words += " a date that somebody sets"
		}
		out = append(out, WorkDone{Step: step, Words: words})
	}
	return out
}

// inspect takes what an inspector said of some supports, or of every open hole
// where none is named.
func (s *State) inspect(b *events.Inspection) {
	for _, p := range s.places {
		if named := s.standsOn(p.id, b.Supports); named || len(b.Supports) == 0 && p.work.holeOpen() {
			p.work.inspected = b.Answer == "passed"
		}
	}
}

// standsOn tells whether a support is among some, or its other half is where both
// ends of a butted join stand on one.
func (s *State) standsOn(id string, names []string) bool {
	return slices.Contains(names, id) || slices.Contains(names, s.floor.shares[id])
}
