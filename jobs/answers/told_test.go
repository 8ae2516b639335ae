package answers_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/answers"
	"relevel/levelling"
)

var update = flag.Bool("update", false, "write the accounts in testdata anew")

// tales are invented jobs by how far they are.
var tales = map[string]func(*site){
	"empty":         func(*site) {},
	"surveyed":      func(s *site) { s.survey("boards"); s.agree("B1-4") },
	"middle":        middle,
	"finished":      finished,
	"open-cause":    openCause,
	"moving":        func(s *site) { finished(s); comeBack(s, -1) },
	"resting":       func(s *site) { finished(s); comeBack(s, 0) },
	"struck-out":    struckOut,
	"all-left-out":  func(s *site) { s.survey("boards"); s.agree(supports...) },
	"other-carpet":  otherCarpet,
	"new-footing":   newFooting,
	"read-from-low": readFromBelow,
}

// middle is a job on which a support stands on a jack and another is out.
func middle(s *site) {
	s.survey("boards")
	s.agree()
	s.days(3)
	s.record(events.KindFinding, events.Finding{What: "rotten", HowBad: "soft to 40 mm", Where: "at the ground", Cause: "the gutter leaks", Supports: []string{"B1-3"}, Trade: "plumber", By: "2026-04-01"})
	s.record(events.KindTie, events.Tie{Tie: "waste", What: "waste pipe of the sink", Supports: []string{"B1-3"}})
	s.record(events.KindTieFreed, events.TieFreed{Tie: "waste", How: "cut"})
	s.record(events.KindFloorCut, events.FloorCut{Cut: "C1", Where: "beside the sink", Cover: "ply"})
	s.record(events.KindGapReading, events.GapReading{Gap: "crack over the door", What: "crack", Width: mm(1.5), Near: "hall"})
	s.record(events.KindBlocking, events.Blocking{Place: "P1", Supports: []string{"B1-3"}, What: "hardwood", Base: "plates"})
	s.record(events.KindSupportWork, events.SupportWork{Support: "B1-3", Step: events.TakenOut})
	s.record(events.KindJacking, events.Jacking{Moves: []events.Move{{Support: "B1-2", By: mm(8), Gauge: events.Rule}}})
	s.record(events.KindGapReading, events.GapReading{Gap: "crack over the door", What: "crack", Width: mm(2.5), Near: "hall"})
	s.record(events.KindChange, events.Change{Text: "a new stump at B1-3", Amount: amount(640), Currency: "AUD"})
}

func amount(v float64) *float64 { return &v }

// finished is a job from the survey to the hand-over.
func finished(s *site) { whole(s, true) }

func openCause(s *site) { whole(s, false) }

func whole(s *site, mended bool) {
	s.survey("boards")
	s.agree()
	s.days(2)
	s.record(events.KindCondition, events.Condition{Room: "hall", Walls: "hairline crack at the door", Present: "R. Finch"}, photo("the kitchen", events.Before))
	s.record(events.KindGapReading, events.GapReading{Gap: "crack at the door", What: "crack", Width: mm(0.5), Near: "hall"})
	found := s.record(events.KindFinding, events.Finding{What: "sunk", Where: "by the sink", Cause: "a drain leaks", Supports: []string{"B1-3"}, Trade: "drainlayer"}, photo("B1-3", events.Before))
	s.record(events.KindFinding, events.Finding{What: "cracked plaster", Where: "hall", Trade: "plasterer"})
	s.record(events.KindTie, events.Tie{Tie: "gas", What: "gas line to the stove", Supports: []string{"B1-2"}, Trade: "gas fitter"})
	s.record(events.KindTieFreed, events.TieFreed{Tie: "gas", How: "capped", Trade: "gas fitter"})
	put := s.record(events.KindChange, events.Change{Text: "a vent in the back wall", Amount: amount(180), Currency: "AUD"})
	s.record(events.KindChangeAnswered, events.ChangeAnswered{Change: put, Accepted: true, Name: "R. Finch", How: "by phone"})
	s.days(1)
	s.raise()
	s.record(events.KindTieBack, events.TieBack{Tie: "gas", Tested: "holds pressure", Trade: "gas fitter"})
	s.record(events.KindGapReading, events.GapReading{Gap: "crack at the door", What: "crack", Width: mm(1.2), Near: "hall"})
	if mended {
		s.record(events.KindFindingClosed, events.FindingClosed{Finding: found, How: "the drain was relaid"})
	}
	s.record(events.KindInspection, events.Inspection{Who: "the council's inspector", Stage: "finished work", Answer: "passed"})
	s.days(2)
	s.handOver("keep the gutter clear\nno garden bed against the wall")
}

// comeBack reads every place each half year, of which one moves by so many mm a month.
func comeBack(s *site, perMonth float64) {
	for visit := 1; visit <= 4; visit++ {
		s.days(183)
		s.setUp()
		for _, id := range supports {
			height := 0.0
			if id == "B1-3" {
				height = -1 + perMonth*6*float64(visit)
			}
			s.look(id, "boards", height)
		}
	}
}

// struckOut is a job with readings that were struck out, and a finding that was erased.
func struckOut(s *site) {
	s.survey("boards")
	wrong := s.record(events.KindNote, events.Note{Text: "wrong house"})
	s.record(events.KindVoid, events.Void{Event: wrong, Why: "another job"})
	s.record(events.KindReading, events.Reading{Setup: s.laser, Point: "X9", Face: events.FloorFace, Staff: mm(1000)})
	s.record(events.KindFinding, events.Finding{What: "the neighbour's fence"})
	last := &s.log[len(s.log)-1]
	last.Erased, last.Raw, last.Body, last.By = true, nil, nil, events.ID{}
}

func otherCarpet(s *site) {
	s.survey("carpet")
	s.agree()
	s.raise()
}

func newFooting(s *site) {
	s.survey("boards")
	s.agree()
	for _, w := range []events.SupportWork{{Step: events.TakenOut}, {Step: events.Dug}, {Step: events.Poured}, {Step: events.CarriesFrom, From: "2026-03-09"}, {Step: events.Set}} {
		w.Support = "B1-3"
		s.record(events.KindSupportWork, w)
	}
	s.days(20)
	s.raise()
	s.handOver("")
	comeBack(s, 0)
}

// readFromBelow is a job on which nobody read the floor.
func readFromBelow(s *site) {
	s.plan()
	s.setUp()
	for _, id := range supports {
		s.record(events.KindReading, events.Reading{Setup: s.laser, Point: id, Face: events.BearerFace, Staff: mm(1000 - lies[id])})
	}
	s.record(events.KindAim, events.Aim{Aim: events.AimLeast, AgreedBy: "R. Finch", Tolerance: events.Tolerance{Limits: []events.Limit{{Kind: levelling.RangeLimit, LimitMM: 8}}}})
}

func TestTold(t *testing.T) {
	for name, tell := range tales {
		t.Run(name, func(t *testing.T) {
			s := newSite(t)
			tell(s)
			golden(t, name, written(s.account()))
		})
	}
}

// In another region and unit the same job reads otherwise.
func TestToldInInches(t *testing.T) {
	s := newSite(t)
	finished(s)
	firm := jobs.Firm{Name: "Plumb Line", Words: jobs.NorthAmerica, Units: levelling.Inch, Phone: "555 0100", Mail: "office@example.com"}
	golden(t, "inches", written(accountOf(s.log, firm, s.clock)))
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name+".txt")
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s (-want +got; -update writes it anew):\n%s", path, diff)
	}
}

// written is all that an account says.
func written(a answers.Account) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s, %s, by %s; record %d\n", a.Job, a.Place, a.Firm, a.Seq)
	for _, an := range a.Answers {
		fmt.Fprintf(&b, "\n%s\n", an.Ask)
		for _, s := range an.Say {
			fmt.Fprintf(&b, "  %s\n", s)
		}
		for _, f := range an.Facts {
			fmt.Fprintf(&b, "    %s: %s %v\n", f.Name, f.Value, f.Lines)
		}
	}
	fmt.Fprintf(&b, "\nSupports\n")
	for _, r := range a.Supports {
		lift, _ := r.Lift()
		fmt.Fprintf(&b, "  %s %s %s %s came up %.1f, packer %q, work %q, fixed %t, %s, %s\n", r.ID, figure(r.AsFound), height(r.Target), figure(r.After), lift, r.Packer, r.Work, r.Fixed, r.State, r.Who)
	}
	fmt.Fprintf(&b, "\nPhotos\n")
	for _, p := range a.Pairs {
		fmt.Fprintf(&b, "  %s | %s\n", p.Before.Alt, p.After.Alt)
	}
	fmt.Fprintf(&b, "\nThe floor\n  %s\n", a.Floor.Say)
	for _, w := range a.Shown {
		fmt.Fprintf(&b, "  shown: %s: %s %v\n", w.Place, w.Read, w.Lines)
	}
	fmt.Fprintf(&b, "\nWords\n")
	for _, w := range a.Words {
		fmt.Fprintf(&b, "  %s: %s\n", w.Word, w.Means)
	}
	fmt.Fprintf(&b, "\nCautions\n  %s\n", strings.Join(a.Cautions, "\n  "))
	return b.String()
}

func figure(f *jobs.Figure) string {
	if f == nil {
		return "-"
	}
	return fmt.Sprintf("%.1f±%.1f", f.MM, f.SD)
}

func height(mm *float64) string {
	if mm == nil {
		return "-"
	}
	return fmt.Sprintf("%.1f", *mm)
}
