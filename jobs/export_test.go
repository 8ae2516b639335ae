package jobs

import "relevel/events"

// OverSight is overSight of a set-up by its id, for tests.
func (s *State) OverSight(setup events.ID, metres float64) (high, sd float64) {
	return s.overSight(s.setups[setup], metres)
}

// NewReplayEvery is NewReplay with snapshots closer together, for tests.
func NewReplayEvery(job events.ID, every int) *Replay {
	r := NewReplay(job)
	r.every = every
	return r
}

// Clone is clone, for tests.
func Clone(s *State) *State { return s.clone() }

// AcrossM and PairsAcross tell which supports of different bearers are neighbours.
const AcrossM = acrossM

var PairsAcross = pairsAcross

// Unknowns is how many heights the filter of a state keeps.
func (s *State) Unknowns() int { return s.filter.Len() }
