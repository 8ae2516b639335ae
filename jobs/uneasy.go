package jobs

import (
	"cmp"
	"fmt"

	"relevel/events"
	"relevel/levelling/underfloor"
)

// What follows is recorded and counts like anything else; it is flagged, since
// somebody may be hurt by it.

// flagUneasyMove says what stood against a move that was made all the same.
func (s *State) flagUneasyMove(e placed, p *place) {
	s.flagStopped(e, p.id, "moved")
	for _, tie := range s.lists.openTies(p.id) {
		s.flag(e, fmt.Sprintf("%s was moved while %s still ties it", p.id, tie))
	}
	for _, tie := range s.lists.tiesBack(p.id) {
		s.flag(e, fmt.Sprintf("%s was moved after %s was put back", p.id, tie))
	}
}

// flagPush compares the force of a jack, by its gauge, with what is marked on it.
// What the gauge may be off by counts against it.
func (s *State) flagPush(e placed, m events.Move) {
	if m.RatedKN <= 0 || m.BoreMM <= 0 || m.PressureMPa <= 0 {
		return
	}
	push, err := underfloor.Jack{BoreMM: m.BoreMM, PressureMPa: m.PressureMPa, RatedKN: &m.RatedKN}.Push()
	if err == nil && *push.OverRating {
		s.flag(e, fmt.Sprintf("%s: %s pushed with about %s kN (%s to %s), and is marked %g", m.Support, cmp.Or(m.Jack, "the jack"),
			forceWords(push.ForceKN), forceWords(push.LowKN), forceWords(push.HighKN), m.RatedKN))
	}
}

// forceWords writes a force to no more figures than a gauge tells.
func forceWords(kN float64) string {
	if kN < 10 {
		return fmt.Sprintf("%.1f", kN)
	}
	return fmt.Sprintf("%.0f", kN)
}

// flagUnseen says that nobody looked into a hole before it was filled.
func (s *State) flagUnseen(e placed, w *work, id string) {
	if !w.inspected {
		s.flag(e, id+" was poured, and no inspection of the hole is recorded: many local codes ask for one")
	}
}

// flagManyBlocked compares the supports on blocking with what was agreed.
func (s *State) flagManyBlocked(e placed) {
	if s.aim == nil || s.aim.agreed.MaxBlocked <= 0 {
		return
	}
	on := 0
	for _, p := range s.places {
		if len(p.work.blocks) > 0 {
			on++
		}
	}
	if most := s.aim.agreed.MaxBlocked; on > most {
		s.flagSaid(e, "%d supports are on blocking at once, and at most %d was agreed", on, most)
	}
}

// flagLoaded says what stood against letting a load down onto a support.
func (s *State) flagLoaded(e placed, p *place) {
	w := &p.work
	s.flagStopped(e, p.id, "loaded")
	if w.out == nil && !w.padCarries(e.key.at) {
		s.flag(e, p.id+" was loaded before the date from which its pad carries")
	}
}

// flagBare says that nothing is recorded to carry a load meanwhile.
func (s *State) flagBare(e placed, w *work, what string) {
	if w.jack == nil && len(w.blocks) == 0 {
		s.flagSaid(e, "%s, and neither blocking nor a jack is recorded there", what)
	}
}

// flagManyOut compares the supports that are out with what was agreed.
func (s *State) flagManyOut(e placed) {
	if s.aim == nil || s.aim.agreed.MaxOut <= 0 {
		return
	}
	out := 0
	for id, p := range s.places {
		if other := s.places[s.floor.shares[id]]; other != nil && other.work.out != nil && other.id < id {
			continue // both halves of a butted join stand on one
		}
		if p.work.out != nil {
			out++
		}
	}
	if most := s.aim.agreed.MaxOut; out > most {
		s.flag(e, fmt.Sprintf("%d supports are out at once, and at most %d was agreed", out, most))
	}
}
