package jobs

import "fmt"

// What follows is recorded and counts like anything else; it is flagged, since
// somebody may be hurt by it.

// flagUneasyMove says what stood against a move that was made all the same.
func (s *State) flagUneasyMove(e placed, p *place) {
	if s.lists.stopped(p.id) != nil {
		s.flag(e, p.id+" was moved while stopped")
	}
	for _, tie := range s.lists.openTies(p.id) {
		s.flag(e, fmt.Sprintf("%s was moved while %s still ties it", p.id, tie))
	}
	for _, tie := range s.lists.tiesBack(p.id) {
		s.flag(e, fmt.Sprintf("%s was moved after %s was put back", p.id, tie))
	}
}

// flagLoaded says what stood against letting a load down onto a support.
func (s *State) flagLoaded(e placed, p *place) {
	w := &p.work
	if s.lists.stopped(p.id) != nil {
		s.flag(e, p.id+" was loaded while stopped")
	}
	if w.out == nil && !w.padCarries(e.key.at) {
		s.flag(e, p.id+" was loaded before the date from which its pad carries")
	}
}

// flagBare says that nothing is recorded to carry a load meanwhile.
func (s *State) flagBare(e placed, w *work, what string) {
	if w.jack == nil && len(w.blocks) == 0 {
		s.flag(e, what+", and neither blocking nor a jack is recorded there")
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
