package jobs_test

import (
	"slices"
	"strings"
	"testing"

	"relevel/events"
)

// proposed says why stops are proposed.
func (s *site) proposed() string {
	var why []string
	for _, p := range s.picture().Proposals {
		why = append(why, p.Why)
	}
	return strings.Join(why, "; ")
}

func (s *site) gap(what string, width float64, watch *events.Length) {
	s.record(events.KindGapReading, events.GapReading{Gap: "hall arch", What: what, Width: mm(width), Watch: watch, Supports: []string{"B1-3"}})
}

// A gap past its watch limit speaks for a stop, until somebody stops there, says
// in a note that answers it that somebody looked, or reads it again and it is right.
func TestGapsProposeStops(t *testing.T) {
	const past = "hall arch is 2.5 mm wide, past its watch limit of 2 mm"
	for name, c := range map[string]struct {
		end  func(*site)
		want string
	}{
		"Stop": {func(s *site) {
			s.record(events.KindStop, events.Stop{Why: "arch", Ask: "engineer", Supports: []string{"B1-3"}})
		}, ""},
		"StopOfAll": {func(s *site) { s.record(events.KindStop, events.Stop{Why: "arch", Ask: "engineer"}) }, ""},
		"StopElsewhere": {func(s *site) {
			s.record(events.KindStop, events.Stop{Why: "pipe", Ask: "plumber", Supports: []string{"B1-1"}})
		}, past},
		"Looked": {func(s *site) {
			s.record(events.KindNote, events.Note{Text: "old filler fell out", Answers: s.picture().Proposals[0].ID})
		}, ""},
		"AnotherNote": {func(s *site) {
			s.record(events.KindNote, events.Note{Text: "photo of the pier", Supports: []string{"B1-3"}})
		}, past},
		"Within":  {func(s *site) { s.gap("crack", 0.8, nil) }, ""},
		"Allowed": {func(s *site) { s.gap("door", 2.5, mm(3)) }, ""},
	} {
		t.Run(name, func(t *testing.T) {
			s, _ := agreed(t)
			s.gap("crack", 0.5, mm(2))
			if why := s.proposed(); why != "" {
				t.Errorf("at first: %q", why)
			}
			s.gap("crack", 2.5, nil)
			if why := s.proposed(); why != past {
				t.Errorf("past its limit: %q", why)
			}
			c.end(s)
			if why := s.proposed(); why != c.want {
				t.Errorf("%q, want %q", why, c.want)
			}
		})
	}
}

// A crack that grew by a class (BRE Digest 251: as far as 1 mm, 5 mm) speaks for a
// stop once, and again when it grows by another.
func TestCrackGrowsByAClass(t *testing.T) {
	s, _ := agreed(t)
	s.gap("crack", 0.5, nil)
	s.gap("crack", 1, nil)
	if why := s.proposed(); why != "" {
		t.Errorf("still class 1: %q", why)
	}
	s.gap("crack", 1.5, nil)
	if why := s.proposed(); !strings.HasPrefix(why, "hall arch grew from class 1 to 2") {
		t.Errorf("%q", why)
	}
	s.record(events.KindNote, events.Note{Text: "plaster only", Answers: s.picture().Proposals[0].ID})
	s.record(events.KindGapReading, events.GapReading{Gap: "hall arch", What: "crack", Width: mm(2)})
	if why := s.proposed(); why != "" {
		t.Errorf("no class more than when somebody looked: %q", why)
	}
	s.record(events.KindGapReading, events.GapReading{Gap: "hall arch", What: "crack", Width: mm(6)})
	if why := s.proposed(); !strings.HasPrefix(why, "hall arch grew from class 2 to 3") {
		t.Errorf("%q", why)
	}
	p := s.picture()
	if at := p.Proposals[0].Supports; !slices.Equal(at, []string{"B1-3"}) {
		t.Errorf("at %q: the supports that were named before stand", at)
	}
	g := p.Gaps[0]
	if len(p.Gaps) != 1 || g.FirstMM != 0.5 || g.NowMM != 6 || g.Growth != "5.5 mm wider than at first" || *g.Class != 3 || !strings.Contains(g.Source, "BRE Digest 251") {
		t.Errorf("%+v", p.Gaps)
	}
	if text := p.Lists.Gaps[2].Text; !strings.Contains(text, "width class 2 (BRE Digest 251") || !strings.Contains(text, "1 mm wider than at first") {
		t.Errorf("%q", text)
	}
	s.gap("door", 3, nil)
	if g := s.picture().Gaps[0]; g.Class != nil || g.NowMM != 3 {
		t.Errorf("a door has no class: %+v", g)
	}
}

// A neighbour that two readings find elsewhere than its bearer leads one to expect
// is a reason to stop and look. One reading alone decides nothing.
func TestAgainstExpectation(t *testing.T) {
	s, u := threeOn(t, true)
	s.jack("B2", 4)
	s.read(u, "B1", 1012)
	if why := s.proposed(); why != "" {
		t.Errorf("after one reading: %q", why)
	}
	s.read(u, "B1", 1012)
	if why := s.proposed(); !strings.HasPrefix(why, "B1 is about 1") || !strings.Contains(why, "below what the lift at B2 leads one to expect") {
		t.Errorf("after two: %q", why)
	}
}
