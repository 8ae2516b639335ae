package jobs_test

import (
	"testing"

	"relevel/events"
)

func (s *site) differ(from, to string, rise float64) {
	s.t.Helper()
	s.record(events.KindDifference, events.Difference{From: from, To: to, Face: events.BearerFace, Rise: mm(rise), Method: events.WaterLevel, SDMM: 1})
}

func TestDifference(t *testing.T) {
	t.Run("GivesAHeight", func(t *testing.T) {
		s := newSite(t)
		s.record(events.KindPlan, bearerPlan())
		s.read(s.laser(1000), "B1-1", 1000)
		s.differ("B1-2", "B1-1", 7)
		near(t, "7 below", s.support("B1-2").Present, -7)
	})
	t.Run("CountsWithReadings", func(t *testing.T) {
		s, _ := surveyed(t)
		s.differ("B1-1", "B1-3", -17) // the readings say −20 ± 1.4, this ± 1
		near(t, "of the two", s.support("B1-3").Present, -20+1)
		near(t, "and of the other", s.support("B1-1").Present, -1)
	})
	t.Run("WaitsForAHeight", func(t *testing.T) {
		s := newSite(t)
		s.record(events.KindPlan, bearerPlan())
		s.differ("B1-3", "B1-4", 5)
		s.differ("B1-2", "B1-3", 4)
		if s.support("B1-4").Present != nil {
			t.Error("a height from nothing")
		}
		s.read(s.laser(1000), "B1-2", 1010)
		near(t, "two on", s.support("B1-4").Present, -1)
	})
	t.Run("KeptApart", func(t *testing.T) {
		s, _ := surveyed(t)
		s.differ("B1-1", "B1-3", -40)
		near(t, "not counted", s.support("B1-3").Present, -20)
		s.flagged("B1-3: the difference to B1-1 puts it about 20 mm below what was read")
	})
	t.Run("OfADatum", func(t *testing.T) {
		s := newSite(t)
		s.record(events.KindPlan, bearerPlan())
		s.differ("D1", "B1-2", -11)
		near(t, "below the datum", s.support("B1-2").Present, -11)
	})
}
