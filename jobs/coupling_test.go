package jobs_test

import (
	"math"
	"testing"

	"relevel/events"
)

// threeOn is a bearer of two spans of 1.8 m, EI 87.5 kN·m² and 1 kN/m, between
// two others that say how wide its strip is; read level.
func threeOn(t *testing.T, section bool) (*site, events.ID) {
	s := newSite(t)
	p := events.Plan{Datums: []events.Datum{{ID: "D1", X: -1, Height: mm(0)}}, Loads: &events.Loads{FloorDeadKPa: 0.6}}
	for i, y := range []float64{-1, 0, 1} {
		b := events.Bearer{ID: []string{"A", "B", "C"}[i]}
		if section {
			b.WidthMM, b.DepthMM, b.EMPa = 100, 100, 10500
		}
		for j, x := range []float64{0, 1.8, 3.6} {
			id := b.ID + string(rune('1'+j))
			p.Supports = append(p.Supports, events.Support{ID: id, X: x, Y: y})
			b.Supports = append(b.Supports, id)
		}
		p.Bearers = append(p.Bearers, b)
	}
	s.record(events.KindPlan, p)
	u := s.laser(1000)
	for _, at := range p.Supports {
		s.read(u, at.ID, 1000)
	}
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(40), AgreedBy: "owner"})
	return s, u
}

// Raising the middle of two equal spans by wL⁴/(8EI), 15 mm here, floats both
// ends (computed): a lift of 20 brings them up by 5, give or
// take what is not known of the timber.
func TestLiftCarriesNeighbours(t *testing.T) {
	s, u := threeOn(t, true)
	s.jack("B2", 20)
	v := s.support("B1")
	if !v.Stale || v.Present.MM < 3 || v.Present.MM > 8 || v.Present.SD < 3 {
		t.Errorf("expected at %+v (%s), want about 5 and far from sure", v.Present, v.Basis)
	}
	for _, name := range []string{"A1", "A2", "C3"} {
		if v := s.support(name); v.Present.MM != 0 || v.Stale {
			t.Errorf("%s on another bearer is at %+v", name, v.Present)
		}
	}
	s.read(u, "B1", 995)
	s.read(u, "B3", 995)
	p := s.picture()
	b := p.Bearers[1]
	if b.ID != "B" || b.From != 2 || b.Low != 1 || b.High != 1 {
		t.Errorf("read where the plan has them, the bearer is %+v", b)
	}
	s.jack("B2", 10)
	if v := s.support("B3"); math.Abs(v.Present.MM-15) > 2 || v.Present.SD > 5 {
		t.Errorf("10 further up its neighbour is expected at %+v, want 15", v.Present)
	}
}

// Readings that say a softer bearer make it one.
func TestStiffnessIsLearned(t *testing.T) {
	s, u := threeOn(t, true)
	s.jack("B2", 20)
	s.read(u, "B1", 1000)
	s.read(u, "B3", 1000)
	s.jack("B2", 8)
	if v := s.support("B1"); v.Present.MM > 1.5 {
		t.Errorf("two ends stayed down at 20, and at 28 one is expected at %+v", v.Present)
	}
	if b := s.picture().Bearers[1]; b.High > 0.5 {
		t.Errorf("the bearer is still %+v", b)
	}
}

// Without a section nobody can tell how far a neighbour comes up.
func TestNoSection(t *testing.T) {
	s, _ := threeOn(t, false)
	s.jack("B2", 20)
	if v := s.support("B1"); v.Present.MM != 0 || v.Present.SD < 10 {
		t.Errorf("expected at %+v, want anywhere up to half of the lift", v.Present)
	}
	if b := s.picture().Bearers[1]; b.Lacks == "" {
		t.Error("nothing says what is missing")
	}
}

// One event that lifts several measures each where it is: none of them is
// thought to have been moved by the others as well.
func TestLiftedTogether(t *testing.T) {
	s, _ := threeOn(t, true)
	s.record(events.KindJacking, events.Jacking{Moves: []events.Move{
		{Support: "B1", By: mm(5), Gauge: events.Rule}, {Support: "B2", By: mm(5), Gauge: events.Rule}}})
	for _, name := range []string{"B1", "B2"} {
		if v := s.support(name); math.Abs(v.Present.MM-5) > 1e-9 || v.Present.SD > 1.8 {
			t.Errorf("%s is expected at %+v, want 5 by the rule", name, v.Present)
		}
	}
}
