package jobs_test

import (
	"fmt"
	"math"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

// A floor read on its carpet before the work, under the bearer during it, and
// on bare boards after it. The carpet is 9 mm thick.
func TestCarpetTakenUp(t *testing.T) {
	const carpet, down = 9.0, 140.0 // mm from the boards up, and down to the underside
	for _, tt := range []struct {
		name  string
		below bool // the bearers were read before anything moved
	}{
		{"bearers read before the work", true},
		{"bearers read only once jacked", false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := newSite(t)
			s.record(events.KindPlan, bearerPlan())
			height := map[string]float64{"B1-1": 0, "B1-2": -12, "B1-3": -20, "B1-4": -5} // of the boards
			names := []string{"B1-1", "B1-2", "B1-3", "B1-4"}
			u := s.laser(1000)
			each := func(face events.Face, surface string, up float64) {
				for _, name := range names {
					s.readOn(face, surface, u, name, 1000-height[name]-up)
				}
			}
			each(events.FloorFace, "carpet", carpet)
			s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner", Tolerance: events.Tolerance{WithinMM: 3}})
			if tt.below {
				each(events.BearerFace, "", -down)
			}
			for _, name := range names[1:] {
				s.jack(name, -height[name])
				height[name] = 0
			}
			each(events.BearerFace, "", -down)
			each(events.FloorFace, "boards", 0)

			p := s.picture()
			for _, name := range names {
				v, _ := p.Support(name)
				if v.Doubt != "" || v.Basis != jobs.WasRead || v.ToGo == "" {
					t.Errorf("%s: doubt %q, %s, %q", name, v.Doubt, v.Basis, v.ToGo)
				}
				if math.Abs(v.Remaining.MM) > 0.5 || math.Abs(v.Present.MM) > 0.5 {
					t.Errorf("%s: at %.2f on the boards, %.2f to go: the carpet is taken for a drop", name, v.Present.MM, v.Remaining.MM)
				}
			}
			was, _ := p.Support("B1-3")
			if math.Abs(was.AsFound.MM+20) > 0.5 || math.Abs(was.Survey.MM+20) > 0.5 {
				t.Errorf("as found %v, survey %v: want −20 as if on the boards", was.AsFound, was.Survey)
			}
			s.flagged("B1-3 was read on boards, and before on carpet: its target moves with the covering")
		})
	}
}

// Where nobody read a place on both coverings, nobody knows how thick the new
// one is, and the target stays.
func TestCoveringOfUnknownThickness(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	u := s.laser(1000)
	s.readOn(events.FloorFace, "carpet", u, "B1-3", 870)
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(150), AgreedBy: "owner"})
	s.readOn(events.FloorFace, "tiles", u, "B1-2", 850)
	if v := s.support("B1-2"); v.Target == nil || *v.Target != 150 {
		t.Errorf("target %v, want the one agreed", v.Target)
	}
}

// onBoards is a place read at 130 on carpet, where 150 was agreed, and then on
// boards 7 mm below it.
func onBoards(t *testing.T) (*site, events.ID) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	u := s.laser(1000)
	s.readOn(events.FloorFace, "carpet", u, "B1-3", 870)
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(150), AgreedBy: "owner"})
	s.readOn(events.FloorFace, "boards", u, "B1-3", 877)
	return s, u
}

// A floor that drops, or is read anew after its set-up fell into doubt, takes the
// covering that lay on it along: that is no thinner for it.
func TestCoveringStaysAsThick(t *testing.T) {
	target := func(s *site) {
		t.Helper()
		if v := s.support("B1-3"); v.Target == nil || math.Abs(*v.Target-143) > 1e-3 {
			t.Errorf("the target is at %v, want 143 as on boards", *v.Target)
		}
	}
	t.Run("Reopened", func(t *testing.T) {
		s, u := onBoards(t)
		target(s)
		s.jack("B1-3", 5)
		s.readOn(events.FloorFace, "boards", u, "B1-3", 902)
		s.readOn(events.FloorFace, "boards", u, "B1-3", 902)
		target(s)
	})
	t.Run("SetupInDoubt", func(t *testing.T) {
		s, u := onBoards(t)
		s.record(events.KindSetupClosed, events.SetupClosed{Setup: u, Datums: opened("", 1030).Datums})
		s.readOn(events.FloorFace, "boards", s.laser(1000), "B1-3", 847)
		target(s)
	})
}

// What a carpet read from a set-up in doubt says tells no thickness.
func TestCoveringInDoubt(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	u := s.laser(1000)
	s.readOn(events.FloorFace, "carpet", u, "B1-3", 870)
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(150), AgreedBy: "owner"})
	s.record(events.KindSetupClosed, events.SetupClosed{Setup: u, Datums: opened("", 1030).Datums})
	s.readOn(events.FloorFace, "boards", s.laser(1000), "B1-3", 847)
	if v := s.support("B1-3"); v.Target == nil || *v.Target != 150 {
		t.Errorf("target %v, want the one agreed", *v.Target)
	}
}

// Two phones may spell a covering in two ways.
func TestCoveringSpelt(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	u := s.laser(1000)
	for _, surface := range []string{"floor boards", "Floor  boards", " FLOOR BOARDS"} {
		s.readOn(events.FloorFace, surface, u, "B1-3", 870)
	}
	if f := s.support("B1-3").Faces[0]; f.Looks != 3 || f.Surface != "floor boards" {
		t.Errorf("%d readings of %q, want 3 of one covering", f.Looks, f.Surface)
	}
}

// However many coverings somebody names, a place keeps a few.
func TestManyCoverings(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	u := s.laser(1000)
	for i := range 1200 {
		s.readOn(events.FloorFace, fmt.Sprint("covering ", i), u, "B1-3", 870)
	}
	s.jack("B1-3", 5)
	near(t, "jacked", s.support("B1-3").Present, 135)
	if n := jobs.Refold(s.job, s.log).Unknowns(); n > 10 {
		t.Errorf("%d unknowns", n)
	}
}
