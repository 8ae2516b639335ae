package jobs

import (
	"time"

	"relevel/events"
	"relevel/levelling"
)

// padCarries tells whether a new pad carries by now; an old one does.
func (w *work) padCarries(now time.Time) bool {
	return !w.poured || (w.carries != "" && w.carries <= now.Format(time.DateOnly))
}

func (s *State) workOn(e placed, b *events.SupportWork) {
	s.startWork()
	w := &s.place(b.Support).work
	if movesSomething(b.Step) {
		s.flagStopped(e, b.Support, "worked on")
	}
	switch b.Step {
	case events.TakenOut, events.Dug, events.SeenInspector, events.Poured, events.CarriesFrom, events.Set:
		s.replace(e, b, b.Support)
		if other := s.floor.shares[b.Support]; other != "" {
			s.replace(e, b, other) // the other half of a butted join stands on the same one
		}
	case events.Refixed:
		w.fixed = true
	case events.OldPackingOut:
		s.lapse(e, s.place(b.Support), "its packing was taken out after it was signed")
		w.packing, w.begun, w.down, w.fixed = nil, true, false, false
		s.flagBare(e, w, b.Support+": the old packing was taken out")
	}
	if b.Step == events.Capped || b.Step == events.Refixed {
		w.renew(e, b)
	}
	s.changed(e, b.Support)
}

// movesSomething tells the steps that are work on a support, of those that are
// looking at it or waiting. Taking out has words of its own.
func movesSomething(step events.WorkStep) bool {
	switch step {
	case events.TakenOut, events.SeenInspector, events.CarriesFrom:
		return false
	}
	return true
}

// replace takes a step of replacing a support, at one of those that stand on it.
func (s *State) replace(e placed, b *events.SupportWork, id string) {
	w := &s.place(id).work
	w.begun = true
	switch b.Step {
	case events.TakenOut:
		s.takeOut(e, w, id)
	case events.Dug: // for another pad
		w.inspected, w.poured, w.carries = false, false, ""
	case events.SeenInspector:
		w.inspected = true
	case events.Poured:
		s.flagUnseen(e, w, id)
		w.poured, w.carries = true, ""
	case events.CarriesFrom:
		w.carries = b.From
	case events.Set: // a cap alone sets nothing
		w.out = nil
		delete(s.adrift, id)
	}
	w.renew(e, b)
	s.changed(e, id)
}

func (s *State) takeOut(e placed, w *work, support string) {
	s.workDay(e, support+" was taken out")
	s.flagBare(e, w, support+" was taken out")
	s.flagStopped(e, support, "taken out")
	if w.out == nil {
		k := markOf(e)
		w.out = &k
	}
	w.packing, w.down, w.fixed = nil, false, false
	s.moved(e, support, levelling.Height{SD: beddingSD})
	s.place(support).nudge(beddingSD)
	s.flagManyOut(e)
}
