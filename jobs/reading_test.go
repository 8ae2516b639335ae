package jobs_test

import (
	"testing"

	"relevel/events"
)

// A line that points up by 0.5 mm per metre reads too high by it: nothing at
// the datum beside the laser, 2 mm at 4 m. The stop figure has the error in it.
func TestErrorByDistance(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	check := twoPeg(0.5)
	check.Instrument = "laser 1"
	s.record(events.KindInstrumentCheck, check)
	u := s.record(events.KindSetup, events.Setup{Instrument: "laser 1", Stand: &events.Position{-1, 0},
		Datums: []events.DatumReading{{Datum: "D1", Staff: mm(1000)}}})
	s.read(u, "B1-3", 1022.3) // 4.6 m away, so 1 020
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(0), AgreedBy: "owner"})
	v := s.support("B1-3")
	near(t, "present", v.Present, -20)
	if v.Stop == nil || v.Stop.StaffMM < 1002.29 || v.Stop.StaffMM > 1002.31 {
		t.Errorf("stop figure %+v, want 1002.3", v.Stop)
	}
	s.read(u, "B1-1", 1000.5)
	if near, far := s.support("B1-1").Present.SD, v.Present.SD; near >= far {
		t.Errorf("± %v at 1 m and ± %v at 4.6 m: the check itself is uncertain by the distance", near, far)
	}
}
