package jobs

import (
	"fmt"
	"slices"
	"time"

	"relevel/events"
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
	if s.outSince != nil && sameDay(s.outSince.at, e.key.at) {
		s.flagSaid(e, "%s after everybody was said to be out from under the floor", what)
	}
	if sameDay(s.checkedOn, e.key.at) || sameDay(s.uncheckedOn, e.key.at) {
		return
	}
	s.uncheckedOn = e.key.at
	s.flag(e, fmt.Sprintf("%s, and no safety check was recorded on this day before", what))
}

// turnedOff is a service that was turned off for the work.
type turnedOff struct {
	what string
	mark
}

// goBelow notes a safety check: from now on people are below, and services off.
func (s *State) goBelow(e placed, b *events.SafetyCheck) {
	s.checkedOn, s.outSince = e.key.at, nil
	if s.below == nil {
		k := markOf(e)
		s.below = &k
	}
	for _, what := range b.Off {
		if !slices.ContainsFunc(s.off, func(o turnedOff) bool { return o.what == what }) {
			s.off = append(s.off, turnedOff{what, markOf(e)})
		}
	}
}

// endDay notes what is left over night. The last one of a day tells.
func (s *State) endDay(e placed, b *events.DayEnd) {
	l := &s.lists
	if n := len(l.days); n > 0 {
		l.days[n-1].Open = false
	}
	it := l.add(&l.days, itemOf(e, "", sentence(joinWords(b.Left), b.Done)))
	it.Open = !b.Out
	if b.Out {
		out := markOf(e)
		s.below, s.outSince = nil, &out
	}
	if b.On {
		s.off = nil
	}
}

// checkedToday tells whether today's safety check is recorded.
func (s *State) checkedToday(now time.Time) bool {
	return sameDay(s.checkedOn, now)
}

// PeopleBelow is the place of what is left where somebody may still be below.
const PeopleBelow = "people"

// leftBelow says that nobody has said yet that all are out, or that a day ended
// and somebody was not.
func (s *State) leftBelow() (left Left, below bool) {
	if n := len(s.lists.days); n > 0 && s.lists.days[n-1].Open {
		it := s.lists.days[n-1]
		return Left{What: "still under the floor at the day's end", Place: PeopleBelow, Since: it.At, By: it.By, Seq: it.Seq, Dangerous: true}, true
	}
	if s.below == nil {
		return Left{}, false
	}
	return Left{What: "not said to be out", Place: PeopleBelow, Since: s.below.at, By: s.below.by, Seq: s.below.seq}, true
}

// leftOff lists the services that nobody has said are on again.
func (s *State) leftOff() (out []Left) {
	for _, o := range s.off {
		out = append(out, Left{What: "still off", Place: o.what, Since: o.at, By: o.by, Seq: o.seq})
	}
	return out
}
