package jobs_test

import (
	"math"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

// loaded is three bearers of three supports, 1.8 m apart along and 1 m across.
func loaded(t *testing.T, change func(*events.Plan)) *jobs.State {
	s, _ := threeOn(t, true)
	p := s.picture().Plan
	change(&p)
	s.record(events.KindPlan, p)
	return jobs.Refold(s.job, s.log)
}

// The middle of two equal spans carries 5/4 of its share (Civil Engineering
// Formulas, Table 2.1): 1.8 m of bearer and 1 m of floor.
func TestLoadOn(t *testing.T) {
	s := loaded(t, func(p *events.Plan) {
		p.Loads = &events.Loads{FloorDeadKPa: 0.5, FloorLiveKPa: 1.5, WallDeadKPa: 0.3, WallM: 2.7, RoofDeadKPa: 0.4, RoofM: 3}
		p.Walls = []events.Wall{{From: events.Position{0.9, 0}, To: events.Position{2.7, 0}, Roof: true}}
	})
	v, known := s.LoadOn("B2", jobs.Pour{})
	if !known {
		t.Fatal("nothing is known of its load")
	}
	if math.Abs(v.FloorM2-1.8) > 1e-9 || math.Abs(v.Continuity-1.25) > 1e-9 || math.Abs(v.WallM-1.8) > 1e-9 || math.Abs(v.RoofM2-5.4) > 1e-9 {
		t.Errorf("%+v", v)
	}
	dead := (1.8*0.5 + 1.8*2.7*0.3 + 5.4*0.4) * 1.25
	if math.Abs(v.DeadKN-dead) > 1e-9 || math.Abs(v.DesignKN-dead-1.8*1.5*1.25) > 1e-9 || math.Abs(v.JackKN-dead-0.4*1.8) > 1e-9 || v.Taken != nil {
		t.Errorf("want %g dead: %+v", dead, v)
	}
	for _, p := range v.Pads {
		if (p.KPa == 0) != (p.SquareMM == 0) || p.Source == "" {
			t.Errorf("%+v", p)
		}
	}
	poured, _ := s.LoadOn("B2", jobs.Pour{ThicknessMM: 300, BagM3: 0.009})
	for i, p := range poured.Pads {
		if p.KPa > 0 && (p.SquareMM <= v.Pads[i].SquareMM || math.Abs(p.VolumeM3-p.SquareMM*p.SquareMM*0.3/1e6) > 1e-9 || p.Bags != int(math.Ceil(p.VolumeM3/0.009))) {
			t.Errorf("300 mm thick: %+v, and %+v without its weight", p, v.Pads[i])
		}
	}
	if end, _ := s.LoadOn("B1", jobs.Pour{}); math.Abs(end.FloorM2-0.9) > 1e-9 || end.Continuity != 1 || end.WallM != 0 {
		t.Errorf("the end: %+v", end)
	}
	t.Run("NotRecorded", func(t *testing.T) {
		s := loaded(t, func(p *events.Plan) {
			p.Loads = nil
			p.Walls = []events.Wall{{From: events.Position{0.9, 0}, To: events.Position{2.7, 0}, Roof: true}}
		})
		v, _ := s.LoadOn("B2", jobs.Pour{})
		if said := strings.Join(v.Taken, "; "); !strings.Contains(said, "HUD") || !strings.Contains(said, "walls weigh nothing") || v.RoofM2 != 0 {
			t.Errorf("%+v", v)
		}
	})
	t.Run("NothingBeside", func(t *testing.T) {
		s, _ := surveyed(t)
		if v, known := jobs.Refold(s.job, s.log).LoadOn("B1-2", jobs.Pour{}); known {
			t.Errorf("one bearer alone: %+v", v)
		}
	})
}
