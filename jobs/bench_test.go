package jobs_test

import (
	"fmt"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

// longJob is forty supports read over and over, 5 000 events.
func longJob(b *testing.B) []events.Stored {
	s := newSite(b)
	plan := events.Plan{Datums: []events.Datum{{ID: "D1", X: -1, Height: mm(0)}}}
	for n := range 4 {
		bearer := events.Bearer{ID: fmt.Sprintf("B%d", n+1)}
		for i := range 10 {
			id := fmt.Sprintf("B%d-%d", n+1, i+1)
			plan.Supports = append(plan.Supports, events.Support{ID: id, X: float64(i) * 1.8, Y: float64(n) * 2.4})
			bearer.Supports = append(bearer.Supports, id)
		}
		plan.Bearers = append(plan.Bearers, bearer)
	}
	s.record(events.KindPlan, plan)
	u := s.laser(1000)
	for n := range 40 {
		s.read(u, plan.Supports[n].ID, 1010+float64(n%7))
	}
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner"})
	for n := 0; len(s.log) < 5000; n++ {
		name := plan.Supports[n%40].ID
		if n%5 == 0 {
			s.jack(name, 1)
		}
		s.read(u, name, 1010+float64(n%2))
	}
	return s.log
}

func BenchmarkRefold5000(b *testing.B) {
	log := longJob(b)
	b.ReportAllocs()
	for b.Loop() {
		jobs.Refold(log[0].Job, log)
	}
	b.ReportMetric(float64(len(log)*b.N)/b.Elapsed().Seconds(), "events/s")
}

// One more event and the figures of what it touched, as an append answers.
func BenchmarkOneMore(b *testing.B) {
	log := longJob(b)
	s := jobs.Refold(log[0].Job, log)
	last := log[len(log)-1]
	b.ReportAllocs()
	for b.Loop() {
		last.DeviceSeq++
		last.Seq++
		last.At = last.At.Add(1)
		if !jobs.Fold(s, last) {
			b.Fatal("it should continue")
		}
		if got := s.Figures(begin, s.Touched([]events.Stored{last})...); len(got) == 0 {
			b.Fatal("no figures")
		}
	}
}

func BenchmarkPicture(b *testing.B) {
	log := longJob(b)
	s := jobs.Refold(log[0].Job, log)
	b.ReportAllocs()
	for b.Loop() {
		s.Picture(begin)
	}
}
