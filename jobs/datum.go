package jobs

import (
	"fmt"

	"relevel/levelling"
)

// datumHeight is the height of a datum, given or learned, or of any place that a
// set-up could stand on.
func (s *State) datumHeight(id string) (levelling.Height, bool) {
	p := s.place(id)
	if p.given != nil {
		return s.filter.Height(p.given.state), true
	}
	if f := p.faces[p.lastly]; f != nil {
		return p.present(f), true
	}
	return levelling.Height{}, false
}

// readDatum takes a reading on a datum between the opening and the closing of a
// set-up. When it disagrees with the datum's height, the datum or the laser has
// moved, or it was misread: the next reading of it decides.
func (s *State) readDatum(e placed, p *place, l look) {
	k := sighted{p, p.given.state, l.staff, l.sd}
	if _, odd := s.filter.Test(l.on.plane, k.state, k.staff, k.sd); odd {
		if !s.datumMoved(e, k, l.on) {
			s.doubtDatum(e, l.on, k)
			s.doubtBetween(e, l.on, p)
		}
		return
	}
	s.filter.Observe(l.on.plane, k.state, k.staff, k.sd)
	p.agrees()
	s.trustAgain(e, p, l.on)
}

// agrees takes away what spoke against a datum's height.
func (p *place) agrees() {
	p.doubted = ""
	if p.given != nil {
		p.given.odd.drop(p.filter)
		p.given.odd = nil
	}
}

// doubtBetween puts a set-up in doubt by a datum read in between, which can take
// the doubt away again unless something else speaks against the set-up, too.
func (s *State) doubtBetween(e placed, u *setup, p *place) {
	by := p.id
	if u.doubt != "" && u.doubtBy != by {
		by = ""
	}
	s.doubtSetup(e, u, fmt.Sprintf("%s %s: it or the laser has moved", p.id, p.doubted))
	u.doubtBy = by
}

// doubtDatum keeps a datum reading that contradicts the set-up apart.
func (s *State) doubtDatum(e placed, u *setup, k sighted) {
	by, _ := s.filter.Test(k.state, u.plane, -k.staff, k.sd)
	k.at.doubted = fmt.Sprintf("reads %s the height it is taken to have", apart(by))
	if k.at.given == nil {
		s.flagReckoned(e, k.at.id+" "+k.at.doubted)
		return
	}
	k.at.given.odd.drop(&s.filter)
	k.at.given.odd = &odd{s.filter.Enter(u.plane, -k.staff, k.sd), u}
	s.flagReckoned(e, k.at.id+" "+k.at.doubted)
}

// datumMoved takes a new height for a datum when a second set-up bears out what
// a first one read on it. The same set-up would only repeat itself: its laser
// may have been knocked.
func (s *State) datumMoved(e placed, k sighted, u *setup) bool {
	g := k.at.given
	if g == nil || g.odd == nil || g.odd.on == u {
		return false
	}
	if _, still := s.filter.Test(u.plane, g.odd.state, k.staff, k.sd); still {
		return false
	}
	moved := s.filter.Between(g.odd.state, g.state)
	s.filter.Drop(g.state)
	g.state, g.odd = g.odd.state, nil
	s.filter.Observe(u.plane, g.state, k.staff, k.sd)
	s.flagReckoned(e, fmt.Sprintf("%s lies %s where it was, by two set-ups: it moved, or what they stand on did", k.at.id, apart(moved.MM)))
	k.at.doubted = ""
	s.trustAgain(e, k.at, s.recent...)
	return true
}

// trustAgain takes away the doubt that a reading of a datum cast on set-ups. That
// it lies where it did, by another set-up, says nothing about the laser of one:
// only the same one read again does, or that the datum is found to have moved.
func (s *State) trustAgain(e placed, p *place, on ...*setup) {
	for _, u := range on {
		if u.doubtBy == p.id {
			u.doubt, u.doubtBy = "", ""
			s.touch(e, s.allSupports()...)
		}
	}
}
