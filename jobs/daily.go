package jobs

import (
	"fmt"
	"time"
)

// The day's safety check is asked for before anything that can move the floor or
// open it. Without it the record counts and is flagged, once a day.

// workDay notes that somebody works below, and flags the first of a day before
// its safety check.
func (s *State) workDay(e placed, what string) {
	if s.below == nil {
		k := markOf(e)
		s.below = &k
	}
	if sameDay(s.checkedOn, e.key.at) || sameDay(s.uncheckedOn, e.key.at) {
		return
	}
	s.uncheckedOn = e.key.at
	s.flag(e, fmt.Sprintf("%s, and no safety check was recorded on this day before", what))
}

// goBelow notes a safety check: from now on people are below.
func (s *State) goBelow(e placed) {
	s.checkedOn = e.key.at
	if s.below == nil {
		k := markOf(e)
		s.below = &k
	}
}

// checkedToday tells whether today's safety check is recorded. Which day it is now
// goes by the zone that the check was recorded in: that of the site.
func (s *State) checkedToday(now time.Time) bool {
	return sameDay(s.checkedOn, now.In(s.checkedOn.Location()))
}

// leftBelow says that nobody has said yet that all are out.
func (s *State) leftBelow() []Left {
	if s.below == nil {
		return nil
	}
	return []Left{{What: "not said to be out", Place: "people", Since: s.below.at, By: s.below.by, Seq: s.below.seq}}
}
