package jobs_test

import (
	"math"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

// carrying works out what lifting one support does.
func (s *site) carrying(id string) jobs.Carrying {
	s.t.Helper()
	c, known := jobs.Refold(s.job, s.log).Carrying(id, 0)
	if !known {
		s.t.Fatalf("nothing is known of the bearer over %s", id)
	}
	return c
}

// The middle of two equal spans floats both ends at 15 mm as given (computed):
// with stiffness and load halved and doubled from 3.75 to 60.
func TestCarrying(t *testing.T) {
	s, u := threeOn(t, true)
	c := s.carrying("B2")
	if c.Words != "from about 4 mm at B2 on: watch B1 and B3" {
		t.Errorf("lifted by %g: %q", c.LiftMM, c.Words)
	}
	if len(c.Watch) != 2 || math.Abs(c.Watch[0].FromMM-3.75) > 0.01 || c.Watch[0].ToMM != nil {
		t.Errorf("%+v", c.Watch)
	}
	// It carries 5/4 wL before and all 2 wL once both ends float: 3.6 kN.
	if c.ForceKN == nil || math.Abs(c.ForceKN.High-7.2) > 0.01 || c.ForceKN.Low < 1 || c.ForceKN.Low > 1.81 {
		t.Errorf("the jack feels %+v kN", c.ForceKN)
	}
	if step, _ := jobs.Refold(s.job, s.log).Carrying("B2", 3); step.LiftMM != c.LiftMM || step.ForceKN.High >= c.ForceKN.High {
		t.Errorf("after 3 mm of it: %+v", step)
	}
	t.Run("Narrowed", func(t *testing.T) {
		s.jack("B2", 20)
		s.read(u, "B1", 995)
		s.read(u, "B3", 995)
		s.jack("B2", -20)
		c := s.carrying("B2")
		if c.From != 2 || len(c.Watch) != 2 || c.Watch[0].FromMM < 9 || c.Watch[0].ToMM == nil || *c.Watch[0].ToMM > 25 {
			t.Errorf("from %d readings: %+v %q", c.From, c.Watch, c.Words)
		}
	})
	t.Run("NoSection", func(t *testing.T) {
		s, _ := threeOn(t, false)
		if c := s.carrying("B2"); c.Lacks == "" || c.Words != "" || c.ForceKN != nil {
			t.Errorf("%+v", c)
		}
	})
}

// High bending is said for a grade and a condition that are recorded, and
// nothing otherwise.
func TestBendingIsSaid(t *testing.T) {
	with := func(grade, condition string) string {
		s := newSite(t)
		p := bearerPlan()
		p.Loads = &events.Loads{FloorDeadKPa: 1.5} // tiles on screed
		p.Bearers[0].WidthMM, p.Bearers[0].DepthMM, p.Bearers[0].Grade, p.Bearers[0].Condition = 100, 100, grade, condition
		for i := range 4 {
			p.Supports = append(p.Supports, events.Support{ID: "C" + string(rune('1'+i)), X: float64(i) * 1.8, Y: 1.8})
		}
		p.Bearers = append(p.Bearers, events.Bearer{ID: "C", Supports: []string{"C1", "C2", "C3", "C4"}})
		s.record(events.KindPlan, p)
		u := s.laser(1000)
		for _, id := range p.Bearers[0].Supports {
			s.read(u, id, 1000)
		}
		s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(120), AgreedBy: "owner"})
		return s.carrying("B1-2").Bending
	}
	if said := with("C16", "sound"); !strings.Contains(said, "high for sound timber of grade C16 (EN 338:2016): engineer") {
		t.Errorf("120 mm at one support: %q", said)
	}
	if said := with("C16", "") + with("", "sound"); said != "" {
		t.Errorf("without grade or condition: %q", said)
	}
}
