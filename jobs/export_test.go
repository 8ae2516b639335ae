package jobs

import (
	"time"

	"relevel/events"
)

// FillChecks is fillChecks, for tests.
func (s *State) FillChecks(p *Picture, now time.Time) { s.fillChecks(p, now) }

// OverSight is overSight of a set-up by its id, for tests.
func (s *State) OverSight(setup events.ID, metres float64) (high, sd float64) {
	return s.overSight(s.setups[setup], metres)
}
