package jobs_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// A room of the plan stands there though nobody wrote it down; a gap stands in
// the room that it is near, with its limit and all its readings.
func TestRoomRecords(t *testing.T) {
	s := newSite(t)
	mm := func(v float64) *events.Length { return &events.Length{Value: v, Unit: levelling.Millimetre} }
	s.record(events.KindPlan, events.Plan{Rooms: []events.Room{{Name: "kitchen"}, {Name: "bath"}}})
	s.record(events.KindCondition, events.Condition{Room: "kitchen", Walls: "crack over the door"})
	s.record(events.KindCondition, events.Condition{Room: "porch", Outside: "step cracked"})
	s.record(events.KindCondition, events.Condition{Room: "kitchen", Walls: "two cracks"})
	s.record(events.KindGapReading, events.GapReading{Gap: "over the door", What: "crack", Width: mm(1), Watch: mm(3), Near: "kitchen"})
	s.record(events.KindGapReading, events.GapReading{Gap: "outside", What: "crack", Width: mm(2)})
	s.record(events.KindGapReading, events.GapReading{Gap: "over the door", What: "crack", Width: mm(1.5)})
	wrong := s.record(events.KindGapReading, events.GapReading{Gap: "over the door", What: "crack", Width: mm(9)})
	s.record(events.KindVoid, events.Void{Event: wrong, Why: "another crack"})

	type line struct {
		Room    string
		Written []string
		Gaps    []string
		Widths  [][]float64
		Limit   float64
	}
	var got []line
	for _, r := range jobs.Refold(s.job, s.log).Picture(s.clock).RoomRecords(s.entries()) {
		l := line{Room: r.Room}
		for _, e := range r.Written {
			l.Written = append(l.Written, e.Body.(*events.Condition).Walls+e.Body.(*events.Condition).Outside)
		}
		for _, g := range r.Gaps {
			l.Gaps = append(l.Gaps, g.Name)
			var widths []float64
			for _, w := range g.Readings {
				widths = append(widths, w.MM)
			}
			l.Widths = append(l.Widths, widths)
			if g.LimitMM != nil {
				l.Limit = *g.LimitMM
			}
		}
		got = append(got, l)
	}
	want := []line{
		{"kitchen", []string{"two cracks", "crack over the door"}, []string{"over the door"}, [][]float64{{1, 1.5}}, 3},
		{Room: "bath"},
		{Room: "porch", Written: []string{"step cracked"}},
		{Gaps: []string{"outside"}, Widths: [][]float64{{2}}},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("rooms (-want +got):\n%s", diff)
	}
}
