package server

import (
	"slices"

	"relevel/events"
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
