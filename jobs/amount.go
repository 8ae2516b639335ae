package jobs

import (
	"fmt"
	"math"
)

// toLower is how far a place may still be brought down: what it is above its
// target, but together with what it came down already no more than was agreed.
func (s *State) toLower(p *place, remaining float64) float64 {
	agreed := s.aim.mayLower(p.id)
	remaining += s.overLift(p) // on a jack it stands higher on purpose
	if remaining >= -s.within() || agreed <= 0 {
		return 0
	}
	risen, _ := s.risenBy(p)
	agreed += risen.MM
	down := math.Min(-remaining, agreed)
	if mmWords(down) == "0" {
		return 0 // nothing that a jack could do
	}
	return math.Max(0, down)
}

// move is how far one move goes: what is left and what letting the jack down
// will lose, or the agreed step.
func (s *State) move(p *place, left float64) float64 {
	left += s.bedsIn(p)
	if step := s.aim.agreed.StepMM; step > 0 && left > step {
		return step
	}
	return left
}

// lacks is what a support has to go once it will be let down: what remains now,
// and where it stands on a jack or on what is to come out again, what that will
// lose.
func (s *State) lacks(p *place, remaining float64) float64 {
	if w := &p.work; w.jack != nil || (w.packing != nil && !w.down) {
		return remaining + s.bedsIn(p)
	}
	return remaining
}

// bedsIn is what the jack-down that is still to come at a place will lose.
func (s *State) bedsIn(p *place) float64 {
	lost, _ := s.expectedLoss(s.toCome(p))
	return math.Max(0, lost.MM-float64(keptBack*lost.SD))
}

// keptBack is the part of its ± by which an over-lift stays below the loss that is
// expected: a packer too thick has to be cut again, one a little thin is within
// what was agreed. In a simulated house half of it costs no round and halves the
// overshoot.
const keptBack = 0.5

// overLift is how much higher than its target a place may stand on its jack.
func (s *State) overLift(p *place) float64 {
	if p.work.jack == nil {
		return 0
	}
	return s.bedsIn(p)
}

// toGo says the remaining lift in words.
func (s *State) toGo(p *place) string {
	r, known := s.remaining(p)
	if !known {
		return ""
	}
	whole := s.units.Show(math.Abs(r.MM))
	switch {
	case mmWords(math.Abs(r.MM)) == "0":
		return "level"
	case r.MM > s.within():
		return whole + " to go"
	case r.MM > 0:
		return whole + " to go, within what was agreed"
	case -r.MM <= s.within()+s.overLift(p) && s.overLift(p) > 0:
		return whole + " over, for bedding-in"
	case -r.MM <= s.within():
		return whole + " above, within what was agreed"
	case s.toLower(p, r.MM) > 0:
		return fmt.Sprintf("bring down %s (agreed)", s.units.Show(s.toLower(p, r.MM)))
	}
	return whole + " above: leave"
}
