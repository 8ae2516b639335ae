package jobs_test

import (
	"math"
	"strings"
	"testing"

	"relevel/events"
)

// What a jack-down lost here is added to the last move there, and only to that.
func TestOverLift(t *testing.T) {
	s, u := agreed(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(0), AgreedBy: "owner", StepMM: 6, Tolerance: events.Tolerance{WithinMM: 1}})
	for _, by := range []float64{8, 3, 3} { // each loses 3 mm
		s.jack("B1-4", by)
		s.read(u, "B1-4", 997)
		s.pack("B1-4", events.Final, 20)
		s.down("B1-4")
		s.read(u, "B1-4", 1000)
	}
	// Two that nobody saw, of 0 ± 2, count with the three, and half of the ± is kept back.
	bedding := 3*3.0/5 - math.Sqrt(2*2*2/5.0)/2
	s.jack("B1-3", 4)
	s.read(u, "B1-3", 1016)
	if v := s.support("B1-3"); math.Abs(v.Stop.ByMM-6) > 1e-9 {
		t.Errorf("with 16 to go a move goes by %g, want the step", v.Stop.ByMM)
	}
	s.jack("B1-2", 8)
	s.read(u, "B1-2", 1004)
	v := s.support("B1-2")
	if math.Abs(v.Stop.ByMM-4-bedding) > 0.3 {
		t.Errorf("the last move goes by %g, want 4 and a bedding-in of %g", v.Stop.ByMM, bedding)
	}
	s.jack("B1-2", v.Stop.ByMM)
	s.read(u, "B1-2", math.Round(v.Stop.StaffMM))
	v = s.support("B1-2")
	if !strings.Contains(v.ToGo, "over, for bedding-in") || v.NextKind != events.KindPacking {
		t.Errorf("lifted over: %q, next %q", v.ToGo, v.Next)
	}
}
