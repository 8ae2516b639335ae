package jobs

import "relevel/events"

// OverSight is overSight of a set-up by its id, for tests.
func (s *State) OverSight(setup events.ID, metres float64) (high, sd float64) {
	return s.overSight(s.setups[setup], metres)
}
