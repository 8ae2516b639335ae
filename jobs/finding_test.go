package jobs_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

func TestFindingIsFollowed(t *testing.T) {
	s, _ := agreed(t)
	first := s.record(events.KindFinding, events.Finding{What: "wet", Cause: "a leaking pipe", Supports: []string{"B1-3"}, Trade: "plumber", By: "2026-03-01"})
	found := func() jobs.Finding { t.Helper(); return s.picture().Found[0] }
	if f := found(); !f.Open || f.Trade != "plumber" || f.Due != "2026-03-01" || f.Cause != "a leaking pipe" {
		t.Fatalf("as recorded: %+v", f)
	}
	t.Run("OverdueByTheDayOfTheSite", func(t *testing.T) {
		state := jobs.Refold(s.job, s.log)
		for day, want := range map[int]bool{1: false, 2: true} {
			if got := state.Picture(time.Date(2026, 3, day, 12, 0, 0, 0, begin.Location())).Found[0].Overdue; got != want {
				t.Errorf("on the %d.: overdue %t, want %t", day, got, want)
			}
		}
	})
	lead := id(0xb, 7)
	s.record(events.KindFinding, events.Finding{Of: first, Owner: lead, By: "2026-04-02", Answer: "he comes on Thursday"})
	if f := found(); f.Owner != lead || f.Trade != "" || f.Due != "2026-04-02" || len(f.Since) != 1 || !strings.Contains(f.Since[0].Text, "he comes on Thursday") {
		t.Errorf("given to somebody of the firm: %+v", f)
	}
	if n := len(s.picture().Lists.Findings); n != 1 {
		t.Errorf("%d findings: what is said of one is no other", n)
	}
	s.record(events.KindFindingClosed, events.FindingClosed{Finding: first, How: "joint renewed"})
	if f := found(); f.Open || f.Closed != "joint renewed" || f.ClosedAt.IsZero() || f.Overdue {
		t.Errorf("closed: %+v", f)
	}
	s.record(events.KindFinding, events.Finding{Of: first, Again: true, Answer: "it drips again"})
	if f := found(); !f.Open || f.Closed != "" || !f.ClosedAt.IsZero() || len(f.Since) != 3 {
		t.Errorf("open again: %+v", f)
	}
	if causes := s.support("B1-3").Causes; len(causes) != 1 {
		t.Errorf("causes at the support: %v", causes)
	}
}

// What is said of a finding waits for it, and is no finding that could be closed.
func TestFindingFollowedBeforeItCame(t *testing.T) {
	s, _ := agreed(t)
	first := s.record(events.KindFinding, events.Finding{What: "wet"})
	follow := s.record(events.KindFinding, events.Finding{Of: first, Trade: "plumber"})
	s.record(events.KindFindingClosed, events.FindingClosed{Finding: follow, How: "mended"})
	p := s.picture()
	if f := p.Found[0]; f.Trade != "plumber" || !f.Open {
		t.Errorf("found: %+v", f)
	}
	if len(p.SetAside) != 1 || p.SetAside[0].Kind != events.KindFindingClosed {
		t.Errorf("set aside: %+v", p.SetAside)
	}
	without := append(append([]events.Stored{}, s.log[:len(s.log)-3]...), s.log[len(s.log)-2])
	if aside := jobs.Refold(s.job, without).Picture(s.clock).SetAside; len(aside) != 1 || !strings.Contains(aside[0].Reason, "not in the log yet") {
		t.Errorf("without the first: %+v", aside)
	}
}

func TestOwed(t *testing.T) {
	s, _ := agreed(t)
	leak := s.record(events.KindFinding, events.Finding{What: "wet", Trade: "plumber", By: "2026-03-09"})
	s.record(events.KindFinding, events.Finding{What: "leaning"})
	s.record(events.KindStop, events.Stop{Why: "crack", Ask: "the engineer"})
	s.record(events.KindChange, events.Change{Text: strings.Repeat("a long word ", 100)})
	o := s.picture().Brief.Owed
	if len(o.Findings) != 2 || o.Findings[0].Due != "2026-03-09" || o.Findings[0].Trade != "plumber" || len(o.Stops) != 1 || o.Stops[0].Name != "the engineer" || len(o.Changes) != 1 {
		t.Fatalf("owed %+v", o)
	}
	if n := len(o.Changes[0].Text); n > 250 {
		t.Errorf("%d bytes of text in a row of many jobs", n)
	}
	s.record(events.KindFindingClosed, events.FindingClosed{Finding: leak, How: "mended"})
	if o := s.picture().Brief.Owed; len(o.Findings) != 1 || o.Findings[0].Text != "leaning" {
		t.Errorf("after closing one: %+v", o.Findings)
	}
	for i := range 100 {
		s.record(events.KindFinding, events.Finding{What: fmt.Sprint("loose ", i)})
	}
	if o := s.picture().Brief.Owed; len(o.Findings) != 60 || o.MoreFindings != 41 {
		t.Errorf("%d listed, %d more", len(o.Findings), o.MoreFindings)
	}
}
