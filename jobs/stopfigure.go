package jobs

import (
	"time"

	"relevel/levelling"
)

// stopAt is what the staff must read after the next move, on the set-up
// where it is read now and on the face read last. There is none where no move is to be proposed.
func (s *State) stopAt(p *place, now time.Time) *StopAt {
	r, known := s.remaining(p)
	if !known || s.lacks(p, r.MM) <= s.within() || s.notToMove(p, now) != "" {
		return nil
	}
	plan := s.firstRound(now)
	if len(plan.ask) > 0 {
		return s.stopAfter(p, s.move(p, r.MM))
	}
	if m, due := plan.first[p.id]; due {
		return s.stopAfter(p, m.By)
	}
	return nil
}

// stopAfter is what the staff must read once a place was moved by so much, nil
// where nobody can tell on which set-up it is read.
func (s *State) stopAfter(p *place, by float64) *StopAt {
	u := s.liveFor(p)
	present, known := s.present(p)
	if u == nil || !known {
		return nil
	}
	onFace, tied := p.across(levelling.Height{MM: present.MM + by}, s.judgedFace(), p.lastly)
	if !tied {
		return nil
	}
	high, _ := s.farOff(u, p)
	return &StopAt{StaffMM: levelling.StopFigure(s.planeOf(u), onFace.MM) + high, ByMM: by, Setup: u.id, Face: p.lastly}
}

// notToMove says why a support must not be lifted now, whatever it has to go,
// "" where nothing stands against it.
func (s *State) notToMove(p *place, now time.Time) string {
	w := &p.work
	ties, back, stop := s.lists.openTies(p.id), s.lists.tiesBack(p.id), s.lists.stopped(p.id)
	switch {
	case stop != nil:
		return "stopped: " + stop.Text
	case p.noneHere:
		return "none here"
	case w.out != nil:
		return "it is out"
	case len(ties) > 0:
		return andWords(ties) + " still fixed"
	case len(back) > 0:
		return andWords(back) + " back in place"
	case w.holeOpen():
		return "its hole is open"
	case w.poured && w.carries == "":
		return "no date is set from which its pad carries"
	case !w.padCarries(now):
		return "its pad carries from " + w.carries
	}
	return ""
}
