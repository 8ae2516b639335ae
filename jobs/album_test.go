package jobs_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

// entries are all records of a job, opened.
func (s *site) entries() []jobs.Entry {
	state := jobs.Refold(s.job, s.log)
	out := make([]jobs.Entry, len(s.log))
	for i, e := range s.log {
		out[i] = state.Entry(jobs.Open(e))
	}
	return out
}

// with adds a photo to the last record.
func (s *site) with(subject string, stage events.Stage) {
	last := &s.log[len(s.log)-1]
	last.Files = append(last.Files, events.File{Type: events.Photo, SHA256: events.Digest{byte(len(s.log)), byte(len(last.Files))}, Subject: subject, Stage: stage})
}

// In an album stand supports in the order of the plan, rooms, ties, and what
// somebody named otherwise; a photo without a subject shows what its record is
// about.
func TestAlbum(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, events.Plan{
		Supports: []events.Support{{ID: "B1-1"}, {ID: "B1-2", X: 2}}, Rooms: []events.Room{{Name: "kitchen"}},
	})
	s.record(events.KindNote, events.Note{Text: "the front"})
	s.with("the front", "")
	s.record(events.KindTie, events.Tie{Tie: "waste", What: "waste pipe"})
	s.with("", events.Before)
	s.record(events.KindCondition, events.Condition{Room: "kitchen", Walls: "sound"})
	s.with("", events.Before)
	s.with("", events.After)
	voided := s.record(events.KindSupportWork, events.SupportWork{Support: "B1-2", Step: events.Refixed})
	s.with("", events.After)
	s.record(events.KindVoid, events.Void{Event: voided, Why: "another house"})
	s.record(events.KindNote, events.Note{Text: "both", Supports: []string{"B1-1", "B1-2"}})
	s.with("", events.During)

	type line struct {
		Name, Sort, Lacks             string
		Before, During, After, Unsaid int
	}
	var got []line
	for _, a := range jobs.Refold(s.job, s.log).Picture(s.clock).Album(jobs.Shots(s.entries())) {
		got = append(got, line{a.Name, a.Sort, string(a.Lacks()), len(a.Before), len(a.During), len(a.After), len(a.Unsaid)})
	}
	want := []line{
		{"B1-2", "support", "", 0, 0, 1, 0}, // voided: nothing is missing beside it
		{"kitchen", "room", "", 1, 0, 1, 0},
		{"waste", "tie", "after", 1, 0, 0, 0},
		{"the front", "", "", 0, 0, 0, 1},
		{"", "", "", 0, 1, 0, 0},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("album (-want +got):\n%s", diff)
	}
}

func TestTies(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, events.Plan{Supports: []events.Support{{ID: "B1-1"}, {ID: "B1-2", X: 2}}})
	for _, name := range []string{"gas", "waste", "skin", "stair"} {
		s.record(events.KindTie, events.Tie{Tie: name, What: name, Trade: "plumber", Supports: []string{"B1-1"}})
	}
	s.record(events.KindTie, events.Tie{Tie: "stair", What: "stair", Supports: []string{"B1-2"}})
	s.record(events.KindTieFreed, events.TieFreed{Tie: "gas", How: "capped", Trade: "gas fitter"})
	s.record(events.KindTieFreed, events.TieFreed{Tie: "waste"})
	s.record(events.KindTieBack, events.TieBack{Tie: "waste", Tested: "run with water"})
	s.record(events.KindTieFreed, events.TieFreed{Tie: "skin"})
	s.record(events.KindTieBack, events.TieBack{Tie: "skin", Left: "the owner wants it so"})
	late := s.record(events.KindTieBack, events.TieBack{Tie: "stair", Tested: "by eye"})
	s.record(events.KindVoid, events.Void{Event: late, Why: "not that one"})

	type line struct {
		Name, Trade string
		State       jobs.TieState
		At          int
	}
	var got []line
	for _, r := range jobs.Ties(s.entries()) {
		got = append(got, line{r.Tie.Tie, r.Trade, r.State, len(r.Tie.Supports)})
	}
	want := []line{{"stair", "plumber", jobs.TieOpen, 2}, {"gas", "gas fitter", jobs.TieFreed, 1}, {"waste", "plumber", jobs.TieBack, 1}, {"skin", "plumber", jobs.TieLeft, 1}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("ties (-want +got):\n%s", diff)
	}
}

// A day on which somebody jacked without a check says so, and one without an end.
func TestSiteDays(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, events.Plan{Supports: []events.Support{{ID: "B1-1"}}})
	s.record(events.KindSafetyCheck, events.SafetyCheck{Sentences: []events.Initialled{{Sentence: "the way out is clear", Initials: "MK"}}})
	s.record(events.KindJackDown, events.JackDown{Support: "B1-1"})
	s.record(events.KindDayEnd, events.DayEnd{Out: true})
	s.clock = s.clock.AddDate(0, 0, 1)
	s.record(events.KindJackDown, events.JackDown{Support: "B1-1"})
	s.clock = s.clock.AddDate(0, 0, 1)
	s.record(events.KindNote, events.Note{Text: "nobody went below"})

	days := jobs.SiteDays(s.entries(), begin.Location())
	type day struct {
		Date         string
		Checks, Ends int
		Worked, Out  bool
	}
	var got []day
	for _, d := range days {
		got = append(got, day{d.Date, len(d.Checks), len(d.Ends), d.Worked, d.Out})
	}
	want := []day{{"2026-03-03", 0, 0, true, false}, {"2026-03-02", 1, 1, true, true}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("days (-want +got):\n%s", diff)
	}
}

// A hole waits for the inspector until it was passed, and an inspection that was
// not passed waits until one at the same stage was.
func TestInspections(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, events.Plan{Supports: []events.Support{{ID: "B1-1"}, {ID: "B1-2", X: 2}}})
	s.record(events.KindSupportWork, events.SupportWork{Support: "B1-1", Step: events.Dug})
	s.record(events.KindSupportWork, events.SupportWork{Support: "B1-2", Step: events.Dug})
	s.record(events.KindInspection, events.Inspection{Who: "the inspector", Stage: "holes", Answer: "again", Supports: []string{"B1-1"}})
	s.record(events.KindInspection, events.Inspection{Who: "the inspector", Stage: "holes", Answer: "passed", Supports: []string{"B1-2"}})
	s.record(events.KindInspection, events.Inspection{Who: "the inspector", Stage: "final", Answer: "refused", Supports: []string{"B1-1"}})
	if diff := cmp.Diff([]string{"B1-1"}, jobs.Refold(s.job, s.log).HolesToBeSeen()); diff != "" {
		t.Errorf("holes (-want +got):\n%s", diff)
	}
	var got []string
	for _, one := range jobs.Inspections(s.entries()) {
		text := one.Stage + " " + one.Answer
		if one.Waiting {
			text += " waits"
		}
		got = append(got, text)
	}
	if diff := cmp.Diff([]string{"final refused waits", "holes passed", "holes again"}, got); diff != "" {
		t.Errorf("inspections (-want +got):\n%s", diff)
	}
}
