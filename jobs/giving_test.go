package jobs_test

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

func TestGiving(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, events.Plan{Supports: []events.Support{{ID: "B1-1"}, {ID: "B1-2", X: 2}}})
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, LeftOut: []string{"B1-2"}, LeftOutWhy: []events.Reason{{Support: "B1-2", Why: "the hearth"}}, AgreedBy: "the owner"})
	s.record(events.KindTie, events.Tie{Tie: "waste", What: "waste pipe"})
	s.record(events.KindTie, events.Tie{Tie: "gas", What: "gas line"})
	s.record(events.KindTieFreed, events.TieFreed{Tie: "gas"})
	s.record(events.KindTieBack, events.TieBack{Tie: "gas", Tested: "under pressure"})
	s.record(events.KindInspection, events.Inspection{Who: "the inspector", Stage: "holes", Answer: "passed"})
	s.record(events.KindInspection, events.Inspection{Who: "the inspector", Stage: "final", Answer: "again"})
	s.record(events.KindFinding, events.Finding{What: "leaking gutter"})
	s.record(events.KindSupportWork, events.SupportWork{Support: "B1-1", Step: events.Poured})
	s.record(events.KindStop, events.Stop{Why: "a crack", Ask: "the engineer"})
	s.record(events.KindChange, events.Change{Text: "a vent more"})
	now := time.Date(2026, 8, 31, 12, 0, 0, 0, begin.Location())
	got := jobs.Refold(s.job, s.log).Picture(now).Giving(s.entries(), now, jobs.Words{})
	steps := map[string]bool{}
	for _, l := range got.Missing {
		steps[l.Step] = true
	}
	for _, want := range []string{"stopped", "changes not answered", "make safe, free ties", "sign"} {
		if !steps[want] {
			t.Errorf("nothing is missing of %q: %v", want, got.Missing)
		}
	}
	if steps["hand over"] || got.Missing[0].Step != "stopped" {
		t.Errorf("missing: %v", got.Missing)
	}
	got.Missing = nil
	want := jobs.Giving{
		LeftOut: []string{"B1-2: the hearth"}, TiesNotBack: []string{"waste"}, Papers: []string{"inspection passed, holes: the inspector, 2 March 2026"},
		Care: []string{"leaking gutter: not mended, it may drop again", "new pads settle first: B1-1"}, ComeBack: []string{"2027-03-03", "2027-08-31"},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("giving (-want +got):\n%s", diff)
	}
}

// A day on which the floor was read counts for the visit it is nearest to; what
// was read at the hand-over counts for none.
func TestVisits(t *testing.T) {
	s := newSite(t)
	mm := func(v float64) *events.Length { return &events.Length{Value: v, Unit: levelling.Millimetre} }
	s.record(events.KindPlan, events.Plan{Supports: []events.Support{{ID: "B1-1"}}, Datums: []events.Datum{{ID: "D1", X: 1, Height: mm(0)}}})
	read := func() {
		setup := s.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: []events.DatumReading{{Datum: "D1", Staff: mm(1000)}}})
		s.record(events.KindReading, events.Reading{Setup: setup, Point: "B1-1", Face: events.FloorFace, Staff: mm(1000)})
	}
	handed := s.clock
	read()
	s.clock = s.clock.AddDate(0, 5, 20)
	read()
	s.clock = s.clock.AddDate(0, 0, 30)
	read()
	now := s.clock.AddDate(0, 7, 0)
	days := []string{"2027-09-02", "2026-09-02", "2027-03-02"}
	got := jobs.Visits(slices.Clone(days), s.entries(), handed, now)
	want := []jobs.Visit{{On: "2026-09-02", Kept: "2026-08-22"}, {On: "2027-03-02", Due: true}, {On: "2027-09-02"}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("visits (-want +got):\n%s", diff)
	}
}
