package jobs_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// Two phones at one support, an hour apart, so that the order is known: the one
// that was out of signal acted by a figure that the other had overtaken.
func TestActedUnaware(t *testing.T) {
	const by = "to go on that screen"
	lift := func(s *site, seen int64) {
		s.clock = s.clock.Add(time.Hour)
		s.at(2, events.KindJacking, events.Jacking{Moves: []events.Move{{Support: "B1-3", By: mm(6), Gauge: events.Rule}}})
		s.log[len(s.log)-1].SeenSeq = seen
	}
	said := func(s *site) bool {
		return slices.ContainsFunc(s.picture().Flags, func(f jobs.Flag) bool { return strings.Contains(f.Text, by) })
	}
	t.Run("OvertakenByAMove", func(t *testing.T) {
		s, _ := agreed(t)
		seen := int64(len(s.log))
		s.jack("B1-3", 8)
		lift(s, seen)
		s.flagged("B1-3: done with 20 mm to go on that screen, when another device had recorded what leaves 12 mm")
	})
	t.Run("OvertakenByAReading", func(t *testing.T) {
		s, u := agreed(t)
		seen := int64(len(s.log))
		s.clock = s.clock.Add(2 * time.Hour)
		s.read(u, "B1-3", 1018)
		s.read(u, "B1-3", 1018)
		lift(s, seen)
		if !said(s) {
			t.Errorf("nothing is said: %+v", s.picture().Flags)
		}
	})
	t.Run("HadHeard", func(t *testing.T) {
		s, _ := agreed(t)
		s.jack("B1-3", 8)
		if lift(s, int64(len(s.log))); said(s) {
			t.Error("that phone had heard of the first lift")
		}
	})
	t.Run("ReadItselfAfterwards", func(t *testing.T) {
		s, u := agreed(t)
		seen := int64(len(s.log))
		s.jack("B1-3", 8)
		s.clock = s.clock.Add(time.Hour)
		s.at(2, events.KindReading, events.Reading{Setup: u, Point: "B1-3", Face: events.BearerFace, Staff: mm(1012)})
		s.log[len(s.log)-1].SeenSeq = seen
		if lift(s, seen); said(s) {
			t.Error("that phone had read the place itself after the first lift")
		}
	})
	t.Run("ElsewhereOnly", func(t *testing.T) {
		s, u := agreed(t)
		seen := int64(len(s.log))
		s.read(u, "B1-1", 1005)
		if lift(s, seen); said(s) {
			t.Error("what was read at the other end changes nothing here")
		}
	})
}

// Where the clocks cannot tell which came first, that is what is said, and no more.
func TestUnawareOrUncertain(t *testing.T) {
	s, _ := agreed(t)
	s.jack("B1-3", 8)
	s.at(2, events.KindJacking, events.Jacking{Moves: []events.Move{{Support: "B1-3", By: mm(6), Gauge: events.Rule}}})
	s.flagged("order uncertain")
	for _, f := range s.picture().Flags {
		if strings.Contains(f.Text, "on that screen") {
			t.Errorf("said as well: %s", f.Text)
		}
	}
}
