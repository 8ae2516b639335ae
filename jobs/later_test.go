package jobs_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// handedOver is surveyed, lifted at B1-3 and handed over.
func handedOver(t *testing.T) *site {
	s, u := surveyed(t)
	s.jack("B1-3", 20)
	s.read(u, "B1-3", 1000)
	s.handOver()
	return s
}

func (s *site) handOver() {
	s.t.Helper()
	s.record(events.KindHandover, events.Handover{Date: s.clock.Format(time.DateOnly), Present: "owner"})
}

// visit reads the bearer at B1-3 some days after the last one, on a set-up of its
// own.
func (s *site) visit(days int, height float64) {
	s.t.Helper()
	s.clock = s.clock.AddDate(0, 0, days)
	s.read(s.laser(1000), "B1-3", 1000-height)
}

func (s *site) moving(id string) jobs.Moving {
	s.t.Helper()
	m, known := s.picture().After.Place(id)
	if !known {
		s.t.Fatalf("nothing is known of %s since the hand-over", id)
	}
	return m
}

func TestLater(t *testing.T) {
	const month = 30
	seasons := func(days int) float64 { return 20 * math.Sin(2*math.Pi*float64(days)/365.25) }
	for name, c := range map[string]struct {
		every, visits int
		height        func(days int) float64
		verdict       levelling.TrendVerdict
		words         string
	}{
		"Still":            {100, 4, func(int) float64 { return 0 }, levelling.Stable, "stable: 0.0 mm a month (−0."},
		"Sinking":          {month, 14, func(days int) float64 { return -float64(days) / 30.4375 }, levelling.Moving, "moving: −1.00 mm a month (−1.1"},
		"SinkingSlowly":    {month, 14, func(days int) float64 { return -0.3 * float64(days) / 30.4375 }, levelling.Moving, "over 420 days"},
		"SinkingFast":      {month, 14, func(days int) float64 { return -8 * float64(days) / 30.4375 }, levelling.Moving, "moving: −8.00 mm a month"},
		"Soon":             {41, 1, func(int) float64 { return -4 }, levelling.TooSoon, "too soon to say: 41 days; a year is needed, since clay moves with the seasons"},
		"Seasons":          {month, 18, seasons, levelling.Stable, "between readings of like season"},
		"SeasonsOfHalf":    {month, 6, seasons, levelling.TooSoon, "too soon to say: 180 days"},
		"SeasonsAndMore":   {month, 24, func(days int) float64 { return seasons(days) - float64(days)/60 }, levelling.Moving, "between readings of like season"},
		"LikeSeasonStill":  {350, 1, func(int) float64 { return 1 }, levelling.Stable, "between readings of like season"},
		"LikeSeasonMoved":  {350, 1, func(int) float64 { return -6 }, levelling.Moving, "between readings of like season"},
		"UnlikeSeason":     {550, 1, func(int) float64 { return -6 }, levelling.TooSoon, "read on 2 days in 550 days"},
		"ManyYearsMonthly": {month, 130, func(days int) float64 { return -float64(days) / 60 }, levelling.Moving, "over 3900 days"},
	} {
		t.Run(name, func(t *testing.T) {
			s := handedOver(t)
			for i := range c.visits {
				s.visit(c.every, c.height((i+1)*c.every))
			}
			m := s.moving("B1-3")
			if m.Verdict != c.verdict || !strings.Contains(m.Words, c.words) {
				t.Errorf("%s: %s; want %s: … %s", m.Verdict, m.Words, c.verdict, c.words)
			}
			if m.Readings > 60 {
				t.Errorf("%d readings are kept", m.Readings)
			}
		})
	}
}

// What was read a year ago does not hold down what is read today.
func TestLaterIsNotAveraged(t *testing.T) {
	s := handedOver(t)
	for i := range 12 {
		s.visit(30, -float64(i+1))
	}
	if v := s.support("B1-3"); math.Abs(v.Present.MM+12) > 0.5 || v.Doubt != "" {
		t.Errorf("after 12 months of 1 mm each it is at %.1f, doubt %q", v.Present.MM, v.Doubt)
	}
}

func TestLaterNewPad(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	s.record(events.KindSupportWork, events.SupportWork{Support: "B1-1", Step: events.Poured})
	s.handOver()
	s.clock = s.clock.AddDate(0, 2, 0)
	u := s.laser(1000)
	s.read(u, "B1-1", 1003)
	s.read(u, "B1-3", 1000)
	places := s.picture().After.Places
	if len(places) != 2 || places[0].ID != "B1-3" || places[0].NewPad || places[1].ID != "B1-1" || !places[1].NewPad {
		t.Errorf("new pads are not apart: %+v", places)
	}
}

// A covering laid in between is no rise of the floor.
func TestLaterCovering(t *testing.T) {
	s := handedOver(t)
	for _, v := range []struct {
		surface string
		staff   float64
	}{{"boards", 900}, {"boards", 900}, {"carpet", 888}} {
		s.clock = s.clock.AddDate(0, 0, 200)
		s.readOn(events.FloorFace, v.surface, s.laser(1000), "B1-3", v.staff)
	}
	if m := s.moving("B1-3"); m.Verdict != levelling.TooSoon || m.Readings != 1 || m.Surface != "carpet" {
		t.Errorf("%+v", m)
	}
}

// What is jacked again after the hand-over is watched from then on.
func TestLaterJackedAgain(t *testing.T) {
	s := handedOver(t)
	for range 4 {
		s.visit(100, 0)
	}
	s.jack("B1-3", 5)
	if _, known := s.picture().After.Place("B1-3"); known {
		t.Error("it moved, and was not read since")
	}
	s.visit(50, 5)
	if m := s.moving("B1-3"); m.Readings != 1 || m.Verdict != levelling.TooSoon {
		t.Errorf("%+v", m)
	}
}

func TestLaterDoubts(t *testing.T) {
	t.Run("OddReading", func(t *testing.T) {
		s := handedOver(t)
		s.visit(10, 60)
		if _, known := s.picture().After.Place("B1-3"); known {
			t.Error("an odd reading counts")
		}
		s.visit(10, 60)
		if m := s.moving("B1-3"); m.Readings != 3 {
			t.Errorf("the next one bears it out: %+v", m)
		}
	})
	t.Run("SetUp", func(t *testing.T) {
		s := handedOver(t)
		s.visit(100, 0)
		s.visit(100, 0)
		u := s.log[len(s.log)-2].ID
		s.record(events.KindSetupClosed, events.SetupClosed{Setup: u, Datums: []events.DatumReading{{Datum: "D1", Staff: mm(1020)}}})
		if m := s.moving("B1-3"); m.Readings != 2 {
			t.Errorf("readings of a set-up in doubt count: %+v", m)
		}
	})
}

// Without a hand-over on record, a place that was left alone for a month is
// watched all the same; one in the midst of the work is not.
func TestLaterWithoutHandover(t *testing.T) {
	s, _ := surveyed(t)
	s.jack("B1-3", 20)
	s.visit(5, 0)
	if a := s.picture().After; a != nil {
		t.Errorf("5 days after a jacking: %+v", a)
	}
	s.visit(40, 0)
	if m := s.moving("B1-3"); m.Readings != 2 {
		t.Errorf("%+v", m)
	}
}

// A late event leaves what it would have left in its turn.
func TestLaterOfTheSet(t *testing.T) {
	s := handedOver(t)
	for i := range 6 {
		s.visit(70, -float64(i))
	}
	want := s.picture().After
	for i := range s.log {
		turned := append(append(s.log[:0:0], s.log[i:]...), s.log[:i]...)
		if diff := cmp.Diff(want, jobs.Refold(s.job, turned).Picture(s.clock).After); diff != "" {
			t.Fatalf("from event %d on:\n%s", i, diff)
		}
	}
}
