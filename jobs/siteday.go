package jobs

import (
	"slices"
	"time"

	"relevel/events"
)

// SiteDay is one day on site: its safety checks, how it was ended, and whether
// anything was done that one is to check before.
type SiteDay struct {
	Date   string // 2006-01-02, where the job is
	Checks []Entry
	Ends   []Entry
	Worked bool
	Out    bool // somebody said that everybody was out
}

// belowKinds are what is done under a floor or to it.
var belowKinds = []events.Kind{
	events.KindJacking, events.KindFloorCut, events.KindSupportWork, events.KindBlocking, events.KindBlockingRemoved,
	events.KindPacking, events.KindJackDown, events.KindTieFreed,
}

// SiteDays lists the days on which somebody worked below, checked or ended the
// day, the last first.
func SiteDays(all []Entry, zone *time.Location) []SiteDay {
	var out []SiteDay
	for _, e := range slices.Backward(Counting(all)) {
		end, ends := e.Body.(*events.DayEnd)
		checks, worked := e.Kind == events.KindSafetyCheck, slices.Contains(belowKinds, e.Kind)
		if !ends && !checks && !worked {
			continue
		}
		date := e.At.In(zone).Format(time.DateOnly)
		if n := len(out); n == 0 || out[n-1].Date != date {
			out = append(out, SiteDay{Date: date})
		}
		d := &out[len(out)-1]
		switch {
		case ends:
			d.Ends, d.Out = append(d.Ends, e), d.Out || end.Out
		case checks:
			d.Checks = append(d.Checks, e)
		}
		d.Worked = d.Worked || worked
	}
	return out
}

// HeightDay is a day on which heights were read or changed, and the last number of
// the book among its events.
type HeightDay struct {
	Date string
	Seq  int64
}

// heightKinds are what tells or changes how high a floor lies.
var heightKinds = []events.Kind{events.KindReading, events.KindDifference, events.KindJacking, events.KindJackDown, events.KindAim}

// HeightDays lists the days on which heights were read or changed, the last first.
// Of what arrived days late the number is of when it arrived.
func HeightDays(all []Entry, zone *time.Location) []HeightDay {
	var out []HeightDay
	for _, e := range slices.Backward(Counting(all)) {
		if !slices.Contains(heightKinds, e.Kind) {
			continue
		}
		date := e.At.In(zone).Format(time.DateOnly)
		if n := len(out); n == 0 || out[n-1].Date != date {
			out = append(out, HeightDay{Date: date})
		}
		last := &out[len(out)-1]
		last.Seq = max(last.Seq, e.Seq)
	}
	return out
}
