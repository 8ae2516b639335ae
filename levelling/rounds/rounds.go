// Package rounds plans single moves: which support is jacked next and how far,
// so that no two neighbours are ever further apart in their movement than they
// may be, and the floor comes up in few rounds.
//
// A round is one pass over the supports, in which each is moved once at most.
// After every single move the movement so far of two neighbours differs by no
// more than their limit, or by what their lifts differ by in the end where that
// is more. No rate of lifting is published as safe: the step and the limits are
// the caller's, and there are no defaults.
//
// Lengths are mm, positive upwards, and are reckoned in whole thousandths: what
// is planned is what is shown, on every machine.
package rounds

import (
	"fmt"
	"math"

	"relevel/levelling"
)

// Support is one point of lift.
type Support struct {
	Lift    float64 // how far it is to have moved in the end
	Done    float64 // how far it has moved so far, by plan or not
	Today   float64 // of that today, whatever its direction
	Blocked bool    // it must not be moved
	Moved   bool    // it was moved in the round that is under way
	Group   int     // those of one group other than 0 move in one move: both ends of a butted join
}

// Pair is two neighbours, by their place in the list of supports, and by how
// much their movement may differ on the way.
type Pair struct {
	A, B  int
	Limit float64
}

// Floor is what is to be planned.
type Floor struct {
	Supports []Support
	Pairs    []Pair
	Step     float64 // most in one move
	Daily    float64 // most at one support in a day; 0: nobody set it
	Jacks    int     // how many can be pumped together; 0 and 1: one at a time
}

// Plan is the rounds that are left.
type Plan struct {
	Rounds []Round
	Waits  []Wait // what cannot get to its lift, and why
}

// Round is one pass over the supports.
type Round struct {
	Day   int // 0 is today; a later one once the daily lift is used up
	Moves []Move
}

// Move is one support's part of a single move. Those of one batch are pumped
// together, in any order; those of a group as one.
type Move struct {
	Support   int
	By, SoFar float64
	Batch     int // counted in its round from 0
}

// Wait is a support that cannot get to its lift before another has moved that is
// blocked. On is the support itself where it is.
type Wait struct {
	Support, On int
	Left        float64 // what it lacks
}

// perMM is the fineness of a plan: thousandths.
const perMM = 1000

// maxMoves is more than anybody would make: a step that asks for more was
// mistyped.
const maxMoves = 200_000

// maxLift keeps a lift within what can be counted in thousandths.
const maxLift = 1e9

// Limit is what two neighbours may differ by, as a part of their distance.
func Limit(distanceM, ratio float64) float64 { return distanceM * 1000 / ratio }

// Plan works out the rounds.
//
// Whoever can make a whole step without breaking a limit makes it. Where nobody
// can, somebody goes as far as he may: he who loses no round by it, or has rounds
// to spare, and makes way for most others. From then on he is a little behind
// them, the others go after him, and all make whole steps: so a plan is seldom
// longer than the greatest lift alone would need, and by one round then.
//
// It ends: every round moves somebody, by a thousandth at least, toward his lift
// and never past it. It breaks no limit, since nobody moves further than every
// neighbour's place and the limit between them allow at that moment. A pair that
// is further apart than that to begin with is only ever brought closer.
func (f Floor) Plan() (Plan, error) {
	if err := f.check(); err != nil {
		return Plan{}, err
	}
	p := f.planner()
	var plan Plan
	for moves := 0; ; {
		round := p.next()
		if len(round.Moves) == 0 {
			break
		}
		if moves += len(round.Moves); moves > maxMoves {
			return Plan{}, levelling.Bad("step_mm", "a longer step: this one asks for more than 200 000 moves")
		}
		plan.Rounds = append(plan.Rounds, round)
	}
	waits, err := p.waits()
	plan.Waits = waits
	return plan, err
}

// First works out the first round of the plan alone, with the day on which it can be
// made. It has no moves where nobody can move. That the rest cannot be planned does not
// show here.
func (f Floor) First() (Round, error) {
	if err := f.check(); err != nil {
		return Round{}, err
	}
	return f.planner().next(), nil
}

// check reports the first field that cannot be planned with.
func (f Floor) check() error {
	if !(f.Step >= 1.0/perMM) {
		return levelling.Bad("step_mm", "the most that a support is moved at once in mm, 0.001 or more")
	}
	if f.Daily != 0 && !(f.Daily >= 1.0/perMM) {
		return levelling.Bad("daily_mm", "the most that a support is moved in a day in mm, 0.001 or more")
	}
	for i, s := range f.Supports {
		if !(math.Abs(s.Lift) <= maxLift && math.Abs(s.Done) <= maxLift && math.Abs(s.Today) <= maxLift) {
			return levelling.Bad(fmt.Sprintf("supports[%d].lift_mm", i), "a length in mm, at most 1e9")
		}
		if math.Abs(s.Lift-s.Done)/f.Step > maxMoves {
			return levelling.Bad("step_mm", "a longer step: this one asks for more than 200 000 moves")
		}
	}
	for i, n := range f.Pairs {
		if n.A == n.B || min(n.A, n.B) < 0 || max(n.A, n.B) >= len(f.Supports) {
			return levelling.Bad(fmt.Sprintf("neighbours[%d]", i), "two supports that there are")
		}
		if !(n.Limit >= 0) {
			return levelling.Bad("limit", "what two neighbours may differ by, more than nothing")
		}
	}
	return nil
}
