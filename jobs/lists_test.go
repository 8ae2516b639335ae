package jobs_test

import (
	"slices"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

func TestTiesAndStops(t *testing.T) {
	s, _ := agreed(t)
	s.record(events.KindTie, events.Tie{Tie: "waste", What: "bath waste", Supports: []string{"B1-3"}})
	if next := s.support("B1-3").Next; next != "Free first: bath waste" {
		t.Errorf("next %q", next)
	}
	s.record(events.KindTieFreed, events.TieFreed{Tie: "waste"})
	stop := s.record(events.KindStop, events.Stop{Why: "crack opened", Ask: "the engineer"})
	v := s.support("B1-3")
	if v.State != jobs.IsStopped || v.Next != "Stopped: crack opened. Go-ahead by the engineer" {
		t.Errorf("%s, next %q", v.State, v.Next)
	}
	s.jack("B1-3", 2) // recorded all the same, and flagged
	if !slices.ContainsFunc(s.picture().Flags, func(f jobs.Flag) bool { return strings.Contains(f.Text, "moved while stopped") }) {
		t.Error("a move during a stop is not flagged")
	}
	s.record(events.KindGoAhead, events.GoAhead{Stop: stop, Who: "the engineer"})
	if v := s.support("B1-3"); v.Stopped {
		t.Error("stopped after the go-ahead")
	}
	if p := s.picture(); len(p.Left) != 3 || p.Left[1].What != "tie not back" {
		t.Errorf("left %+v", p.Left)
	}
}

// A stop of the whole job also stands at what is found after it.
func TestStopStandsAtWhatIsFoundLater(t *testing.T) {
	s, _ := agreed(t)
	s.record(events.KindStop, events.Stop{Why: "crack opened", Ask: "the engineer"})
	s.record(events.KindFound, events.Found{What: events.FoundSupport, ID: "B1-2x", X: 2.7, Bearer: "B1", After: "B1-2"})
	if v := s.support("B1-2x"); !v.Stopped || v.State != jobs.IsStopped {
		t.Errorf("found after the stop: %s, stopped %t", v.State, v.Stopped)
	}
}

// An answer ends what it answers and nothing else.
func TestAnswersByKind(t *testing.T) {
	s, _ := agreed(t)
	stop := s.record(events.KindStop, events.Stop{Why: "crack opened", Ask: "the engineer"})
	finding := s.record(events.KindFinding, events.Finding{What: "sunk", Supports: []string{"B1-1"}})
	s.record(events.KindGoAhead, events.GoAhead{Stop: finding, Who: "the engineer"})
	s.record(events.KindFindingClosed, events.FindingClosed{Finding: stop, How: "mended"})
	p := s.picture()
	if len(p.Stops) != 1 || !p.Brief.Stopped || !p.Lists.Findings[0].Open || len(p.SetAside) != 2 {
		t.Errorf("stops %+v, findings %+v, set aside %+v", p.Stops, p.Lists.Findings, p.SetAside)
	}
}

// The watch limit of a gap is set once and counts for each later reading.
func TestGapPastItsLimit(t *testing.T) {
	s, _ := agreed(t)
	s.record(events.KindGapReading, events.GapReading{Gap: "hall crack", What: "crack", Width: mm(1), Watch: mm(2)})
	s.record(events.KindGapReading, events.GapReading{Gap: "hall crack", What: "crack", Width: mm(3)})
	s.flagged("hall crack is 3 mm wide, past its watch limit of 2 mm")
}

func TestOpenCause(t *testing.T) {
	s, u := agreed(t)
	s.record(events.KindFinding, events.Finding{What: "sunk", Cause: "gutter", Supports: []string{"B1-1"}})
	s.pack("B1-1", events.Final, 6)
	s.fix("B1-1")
	s.sign("B1-1", s.read(u, "B1-1", 1000))
	if v := s.support("B1-1"); v.State != jobs.IsSigned || v.Next != "Level; cause open: may drop again" {
		t.Errorf("%s, next %q", v.State, v.Next)
	}
}
