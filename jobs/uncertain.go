package jobs

import (
	"time"

	"relevel/events"
)

// How far two devices' clocks may be apart: what is left of an offset that was
// checked against the server, and what a phone may drift that never was.
const (
	checkedClock   = 2 * time.Minute
	uncheckedClock = 10 * time.Minute
)

// act is the last thing recorded at a place that a move could contradict.
type act struct {
	placed
	move  bool
	clock time.Duration
}

// watchOrder flags an event at a place that another device recorded something
// at, when neither knew of the other and their clocks cannot tell which came
// first. Where one of the two is a move, the height after both is not known:
// the place is to be read again.
func (s *State) watchOrder(e placed, body events.Body) {
	move, counts := touchesHeight(body)
	if _, aside := s.aside[e.ID]; aside || !counts {
		return
	}
	now := act{placed: e, move: move, clock: s.clockError(e)}
	now.Raw, now.Body = nil, nil // not needed again, and they would stay in memory
	for _, name := range body.Points() {
		p := s.place(name)
		before := p.last
		p.last = now
		if !unordered(before, now) || (!before.move && !move) {
			continue
		}
		s.flag(e, name+": order uncertain, another device recorded something there at about the same time: read it again")
		p.disturb()
		p.work.moved = "something"
	}
}

// touchesHeight tells the kinds whose order at one place matters, and which of
// them move it.
func touchesHeight(body events.Body) (move, counts bool) {
	switch b := body.(type) {
	case *events.Reading:
		return false, b.NotRead == ""
	case *events.Jacking, *events.JackDown:
		return true, true
	}
	return false, false
}

func unordered(a, b act) bool {
	return a.Seq != 0 && a.Device != b.Device &&
		b.SeenSeq < a.Seq && a.SeenSeq < b.Seq &&
		b.key.at.Sub(a.key.at) <= max(a.clock, b.clock)
}

func (s *State) clockError(e placed) time.Duration {
	if s.clocks.sessions[sessionOf(e.Stored)].known {
		return checkedClock
	}
	return uncheckedClock
}
