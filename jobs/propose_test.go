package jobs_test

import (
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

// A gap past its watch limit, or a crack that grew by a class, speaks for a stop,
// until somebody stops, looks, or reads it again and it is right.
func TestGapsProposeStops(t *testing.T) {
	for name, end := range map[string]func(*site){
		"Stop": func(s *site) {
			s.record(events.KindStop, events.Stop{Why: "arch", Ask: "engineer", Supports: []string{"B1-3"}})
		},
		"Note": func(s *site) {
			s.record(events.KindNote, events.Note{Text: "old filler fell out", Supports: []string{"B1-3"}})
		},
		"Again": func(s *site) { s.gap("crack", 1.5, nil) },
	} {
		t.Run(name, func(t *testing.T) {
			s, _ := agreed(t)
			s.gap("crack", 0.5, mm(2))
			if why := s.proposed(); why != "" {
				t.Errorf("at first: %q", why)
			}
			s.gap("crack", 2.5, nil)
			if why := s.proposed(); why != "hall arch is 2.5 mm wide, past its watch limit of 2 mm" {
				t.Errorf("past its limit: %q", why)
			}
			end(s)
			if name == "Again" {
				if why := s.proposed(); !strings.HasPrefix(why, "hall arch grew from class 1 to 2") {
					t.Errorf("back within its limit, and grown: %q", why)
				}
				s.gap("crack", 0.8, nil)
			}
			if why := s.proposed(); why != "" {
				t.Errorf("still proposed: %q", why)
			}
		})
	}
	t.Run("Words", func(t *testing.T) {
		s, _ := agreed(t)
		s.gap("crack", 0.5, nil)
		s.gap("crack", 0.75, nil)
		gaps := s.picture().Lists.Gaps
		if !strings.Contains(gaps[1].Text, "width class 1") || !strings.Contains(gaps[1].Text, "0.25 mm wider than at first") {
			t.Errorf("%q", gaps[1].Text)
		}
	})
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
