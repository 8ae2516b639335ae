package jobs_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

// What to do next leads to the event that records it, all the way along.
func TestNextNamesTheEvent(t *testing.T) {
	s := newSite(t)
	at := func(kind events.Kind, step events.WorkStep) {
		t.Helper()
		if v := s.support("B1-3"); v.NextKind != kind || v.NextStep != step {
			t.Errorf("%q leads to %q %q, want %q %q", v.Next, v.NextKind, v.NextStep, kind, step)
		}
	}
	s.record(events.KindPlan, bearerPlan())
	at(events.KindReading, "")
	u := s.laser(1000)
	read := func(staff float64) events.ID { return s.readOn(events.FloorFace, "", u, "B1-3", staff) }
	read(1020)
	at(events.KindAim, "")
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(0), Face: events.FloorFace, AgreedBy: "owner"})
	at(events.KindJacking, "")
	s.jack("B1-3", 20)
	at(events.KindReading, "")
	read(1000)
	at(events.KindPacking, "")
	s.pack("B1-3", events.Final, 20)
	at(events.KindJackDown, "")
	s.down("B1-3")
	read(1000)
	at(events.KindSupportWork, events.Refixed)
	s.fix("B1-3")
	at(events.KindSigned, "")
	s.sign("B1-3", read(1000))
	at("", "")
	s.record(events.KindStop, events.Stop{Why: "crack", Ask: "the engineer", Supports: []string{"B1-3"}})
	at(events.KindGoAhead, "")
}

// Open cuts with an outline are on the picture, covered or not, and closed ones
// are not.
func TestOpenCuts(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	outline := []events.Position{{0, 0}, {1, 0}, {1, 1}, {0, 1}}
	s.record(events.KindFloorCut, events.FloorCut{Cut: "hall", Where: "hall", Outline: outline})
	s.record(events.KindFloorCut, events.FloorCut{Cut: "bath", Where: "bath"})
	s.record(events.KindFloorClosed, events.FloorClosed{Cut: "hall", How: "board over it", Covered: true})
	want := []jobs.Cut{{Name: "hall", Seq: 2, Outline: outline, Covered: true}}
	if diff := cmp.Diff(want, s.picture().Cuts); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	s.record(events.KindFloorClosed, events.FloorClosed{Cut: "hall", How: "boards screwed down"})
	if got := s.picture().Cuts; got != nil {
		t.Errorf("a closed cut is still on the picture: %v", got)
	}
}
