package server

import (
	"slices"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// afterCheck are what the day's safety check comes before.
var afterCheck = []events.Kind{events.KindJacking, events.KindFloorCut, events.KindSupportWork, events.KindBlocking, events.KindPacking, events.KindJackDown}

// safeStages are those in which nobody is asked to go below, so that no safety
// check is asked for.
var safeStages = []string{"survey", "agree", "datums and plan", "condition record", "hand over", "done"}

// unsafe reports whether today's safety check is the first thing to record.
func (v view) unsafe() bool {
	return !v.picture.Checked && len(v.picture.Supports) > 0 && !slices.Contains(safeStages, v.picture.Stage)
}

// dayEnds is the hour from which the end of the day is asked about (common
// practice, no source).
const dayEnds = 16

// late reports whether the day is over, or a day before this one, and nobody has
// said that everybody is out.
func (v view) late() bool {
	return slices.ContainsFunc(v.picture.Left, func(l jobs.Left) bool {
		since := l.Since.In(v.zone).Format(time.DateOnly)
		return l.Place == jobs.PeopleBelow && (v.now.Hour() >= dayEnds || since != v.now.Format(time.DateOnly))
	})
}
