package jobs

import (
	"cmp"
	"slices"
	"time"

	"relevel/events"
)

// WatchedGap is one crack or gap and all that was read of it.
type WatchedGap struct {
	Name, What, Near string
	LimitMM          *float64   // nil: nobody set one
	Readings         []GapWidth // oldest first
}

// GapWidth is one reading of a gap.
type GapWidth struct {
	At    time.Time
	MM    float64
	Entry Entry
}

// WatchedGaps follows every gap over time, in the order in which they were first
// read.
func WatchedGaps(all []Entry) []WatchedGap {
	var out []WatchedGap
	at := map[string]int{}
	for _, e := range Counting(all) {
		b, is := e.Body.(*events.GapReading)
		if !is {
			continue
		}
		i, known := at[b.Gap]
		if !known {
			i = len(out)
			at[b.Gap] = i
			out = append(out, WatchedGap{Name: b.Gap})
		}
		g := &out[i]
		g.What, g.Near = cmp.Or(b.What, g.What), cmp.Or(b.Near, g.Near)
		if b.Watch != nil {
			mm := b.Watch.MM()
			g.LimitMM = &mm
		}
		g.Readings = append(g.Readings, GapWidth{e.At, b.Width.MM(), e})
	}
	return out
}

// RoomRecord is what was written down of one room before the first lift, and the
// gaps that are watched in it since.
type RoomRecord struct {
	Room    string
	Written []Entry // of conditions, the last first
	Gaps    []WatchedGap
}

// RoomRecords lists the rooms of the plan in their order, those that somebody
// named besides, and last, with no name, the gaps that are near none of them.
func (p Picture) RoomRecords(all []Entry) []RoomRecord {
	var out []RoomRecord
	room := func(name string) *RoomRecord {
		at := slices.IndexFunc(out, func(r RoomRecord) bool { return r.Room == name })
		if at < 0 {
			at = len(out)
			out = append(out, RoomRecord{Room: name})
		}
		return &out[at]
	}
	for _, r := range p.Plan.Rooms {
		room(r.Name)
	}
	for _, e := range Counting(all) {
		if b, is := e.Body.(*events.Condition); is {
			r := room(b.Room)
			r.Written = slices.Insert(r.Written, 0, e)
		}
	}
	var elsewhere RoomRecord
	for _, g := range WatchedGaps(all) {
		at := slices.IndexFunc(out, func(r RoomRecord) bool { return g.Near == r.Room })
		if at < 0 {
			elsewhere.Gaps = append(elsewhere.Gaps, g)
			continue
		}
		out[at].Gaps = append(out[at].Gaps, g)
	}
	if len(elsewhere.Gaps) > 0 {
		out = append(out, elsewhere)
	}
	return out
}
