package jobs

import (
	"fmt"
	"math"
	"time"

	"relevel/events"
)

// missing lists what a support still needs before it can be signed.
func (s *State) missing(p *place, blockingStays bool) []string {
	var out []string
	need := func(is bool, words string) {
		if is {
			out = append(out, s.say(words))
		}
	}
	w := &p.work
	final := w.packing != nil && w.packing.Sort == events.Final
	// Where nothing is lifted nothing is packed or read, but nothing may be left either.
	lifted := !p.noneHere && !s.leftOut(p.id)
	packed := lifted && !s.untouched(p)
	need(w.out != nil, "the support set again")
	need(packed && !final, "the final packer")
	need(packed && final && !w.packing.FullWidth, "the packer on the full width")
	need(w.jack != nil, "the jack away")
	need(packed && !w.fixed, "fixed")
	need(len(w.blocks) > 0 && !blockingStays, "the blocking away, or why it stays")
	need(s.lists.stopped(p.id) != nil, "the go-ahead")
	if lifted {
		out = append(out, s.missingReading(p)...)
	}
	return out
}

// missingReading says what the last reading leaves to be wished.
func (s *State) missingReading(p *place) []string {
	f := p.freshest()
	switch {
	case f == nil:
		return []string{"a reading after the last move"}
	case f.odd != nil:
		return []string{"a second reading: the last one is in doubt"}
	case s.setupDoubt(f) != "":
		return []string{"a reading on a set-up that is not in doubt"}
	}
	if rest := s.restUntil(p); !rest.IsZero() && f.at.Before(rest) {
		return []string{fmt.Sprintf("a reading after its rest of %g h", s.aim.agreed.RestHours)}
	}
	r, _ := s.remaining(p)
	switch {
	case !s.aim.gives():
		return []string{"an aim that gives a height"}
	case !s.judged(p):
		return []string{s.tieFaces(p)}
	case r.MM > s.within():
		return []string{s.units.ShowWith(r.MM) + " to go"}
	}
	return nil
}

// untouched tells that nothing was done to what stands under the bearer at a
// place, and that the bearer lies on it as it was found. It is read and signed
// like the others, and there is nothing to pack or to fix.
func (s *State) untouched(p *place) bool {
	return !p.work.begun && s.reached(p) && s.daylight(p) <= leastGapMM
}

// leastGapMM is less than the thinnest packing fills.
const leastGapMM = 1.0

// daylight is how far a bearer was lifted, by what was done beside it, off a
// support that nothing was done to: the gap to pack, mm.
func (s *State) daylight(p *place) float64 {
	if p.work.begun {
		return 0
	}
	risen, _ := s.risenBy(p)
	return math.Max(0, risen.MM)
}

// risenBy is how far a place has come up since as found, on the judged face.
func (s *State) risenBy(p *place) (Figure, bool) {
	face := s.judgedFace()
	was, before := p.on(face, s.thaw(p, p.asFound))
	present, now := p.presentOn(face)
	if !before || !now {
		return Figure{}, false
	}
	return Figure{present.MM - was.MM, present.SD}, true
}

// freshest is the face read last, if it was read since anything in reach moved.
func (p *place) freshest() *face {
	f := p.faces[p.lastly]
	if f == nil || f.moves != p.moves || (f.basis != WasRead && f.odd == nil) {
		return nil
	}
	return f
}

// restUntil is when a reading counts for a signature: the agreed rest after
// the last move in reach. Zero where no rest was agreed.
func (s *State) restUntil(p *place) time.Time {
	if s.aim == nil || s.aim.agreed.RestHours <= 0 || p.work.lastMove.IsZero() {
		return time.Time{}
	}
	return p.work.lastMove.Add(time.Duration(s.aim.agreed.RestHours * float64(time.Hour)))
}
