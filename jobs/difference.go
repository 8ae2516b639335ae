package jobs

import (
	"fmt"

	"relevel/events"
	"relevel/levelling"
)

// apartness is a height difference between two places, of which none has a
// height yet.
type apartness struct {
	placed
	body events.Difference
}

// differenceSD is the ± of a difference read directly.
func differenceSD(b *events.Difference) float64 {
	if b.SDMM > 0 {
		return b.SDMM
	}
	if b.Method == events.Receiver {
		return levelling.ReceiverSD
	}
	return levelling.TapeSD
}

// differ takes a height difference read directly. It counts at once where one of
// the two has a height, and else as soon as one has.
func (s *State) differ(e placed, b *events.Difference) {
	s.list(e, b)
	if !s.countDifference(e, b) {
		s.apart = append(s.apart, apartness{e, *b})
	}
}

// countWaiting takes in the differences that waited for a height.
func (s *State) countWaiting() {
	for again := len(s.apart) > 0; again; {
		again = false
		for i, d := range s.apart {
			if s.countDifference(d.placed, &d.body) {
				s.apart = append(s.apart[:i:i], s.apart[i+1:]...)
				again = len(s.apart) > 0
				break
			}
		}
	}
}

func (s *State) countDifference(e placed, b *events.Difference) bool {
	from, to := s.place(b.From), s.place(b.To)
	low, lowKnown := from.unknown(b.Face)
	high, highKnown := to.unknown(b.Face)
	rise, sd := b.Rise.MM(), differenceSD(b)
	switch {
	case lowKnown && highKnown:
		s.observeDifference(e, b, high, low, sd)
	case lowKnown:
		s.enterBy(to, b.Face, low, rise, sd, e)
	case highKnown:
		s.enterBy(from, b.Face, high, -rise, sd, e)
	default:
		return false
	}
	s.touch(e, b.From, b.To)
	return true
}

// unknown is that of a face, or of a datum's own height.
func (p *place) unknown(face events.Face) (levelling.Unknown, bool) {
	if p.fixed() {
		return p.given.state, true
	}
	if f := p.faces[face]; f != nil {
		return f.state, true
	}
	return 0, false
}

// observeDifference counts a difference between two known heights. One that
// contradicts them is kept apart: nobody can tell which of the three is wrong.
func (s *State) observeDifference(e placed, b *events.Difference, high, low levelling.Unknown, sd float64) {
	by, odd := s.filter.Test(high, low, b.Rise.MM(), sd)
	if odd {
		words := fmt.Sprintf("the difference to %s puts it %s what was read: read both again", b.From, apart(by))
		s.flagReckoned(e, b.To+": "+words)
		if f := s.place(b.To).faces[b.Face]; f != nil && f.doubt == "" {
			f.doubt = words
		}
		return
	}
	s.filter.Observe(high, low, b.Rise.MM(), sd)
}

// enterBy gives a face its first height by a difference.
func (s *State) enterBy(p *place, name events.Face, from levelling.Unknown, by, sd float64, e placed) {
	f := &face{state: s.filter.Enter(from, by, sd), basis: WasRead, looks: 1, moves: p.moves, at: e.key.at}
	p.faces[name], p.lastly = f, name
	s.judging = ""
	p.tie(name)
}
