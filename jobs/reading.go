package jobs

import (
	"slices"

	"relevel/events"
	"relevel/levelling"
)

func (s *State) read(e placed, b *events.Reading) {
	if b.NotRead != "" {
		s.list(e, b)
		return
	}
	u := s.setup(b.Setup)
	if u == nil {
		s.setAsideFor(e, b.Setup.String(), "its set-up is not in the log yet, or does not count")
		return
	}
	p := s.place(b.Point)
	s.stillStands(e, u, b.Point)
	s.stand(u)
	u.readings++
	l := s.look(e, u, p, b.Staff.MM())
	f := p.faces[b.Face]
	switch {
	case f == nil:
		s.judging = ""
	case u.doubt == "" && s.setupDoubt(f) != "":
		s.forget(p, f)
	}
	surface := coveringName(b.Surface)
	s.flagCovering(e, p, b.Face, surface)
	p.readOn = u
	if p.fixed() {
		s.readDatum(e, p, l)
		s.touch(e, b.Point)
		return
	}
	s.letTimePass(p, l.at)
	if s.outdated(p) {
		p.letGo()
	}
	p.take(b.Face, surface, l)
	s.visited(p, p.faces[b.Face], l)
	s.countWaiting()
	p.reads = append(p.reads, e.ID)
	s.touch(e, b.Point)
	f = p.faces[b.Face]
	if f.odd != nil {
		s.flagReckoned(e, b.Point+": "+f.doubt)
	}
	s.learnBedding(p, l)
	s.learnStiffness(e, p, l)
	s.readSeat(p)
	s.checkSigned(e, p, f)
}

// look reduces a staff reading to one on the set-up's plane: the error of its
// instrument by the distance is taken off, and the distance adds to its ±.
func (s *State) look(e placed, u *setup, p *place, staff float64) look {
	staff, sd := s.sight(u, p, staff)
	return look{on: u, staff: staff, sd: sd, at: e.key.at}
}

// sight corrects a staff reading for the distance of a place from the set-up.
func (s *State) sight(u *setup, p *place, staff float64) (corrected, sd float64) {
	high, perM := s.farOff(u, p)
	return staff - high, rss(u.sd, perM)
}

// farOff is how much too high the staff reads at a place, and the ± that comes
// with its distance from the set-up: nothing where a position is not known.
func (s *State) farOff(u *setup, p *place) (high, sd float64) {
	if u.opened.Stand == nil || !s.floor.placed[p.id] {
		return 0, 0
	}
	return s.overSight(u, levelling.Distance(u.opened.Stand[0], u.opened.Stand[1], p.x, p.y))
}

// stillStands flags a reading on a set-up that is over. One whose laser was only
// thought to be set up again is live again: somebody reads on it.
func (s *State) stillStands(e placed, u *setup, point string) {
	switch {
	case u.closed:
		s.flag(e, point+" was read on a set-up that was closed before: does the laser still stand?")
	case u.over:
		s.flag(e, point+" was read on a set-up after its laser was set up again: does it still stand there?")
		u.over = false
		s.live = append(s.live, u)
	}
}

// liveFor is the set-up on which a place is read now: the only one that stands,
// or of several the one it was last read on. Otherwise nobody can tell whose
// staff is meant, and there is none.
func (s *State) liveFor(p *place) *setup {
	if len(s.live) == 1 {
		return s.live[0]
	}
	if slices.Contains(s.live, p.readOn) {
		return p.readOn
	}
	return nil
}
