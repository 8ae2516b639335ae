package jobs_test

import (
	"math"
	"testing"

	"relevel/events"
)

// A face that is reopened takes the other one along, if nobody read that since
// something moved, and leaves it where it was read otherwise. The top of the
// support stays where it is.
func TestReopenedWithTheOtherFace(t *testing.T) {
	for _, tt := range []struct {
		name  string
		moved func(*site)
		want  float64 // of the bearer
	}{
		{"Jacked", func(s *site) { s.jack("B1-3", 2) }, -60},
		{"BesideOneThatWas", func(s *site) { s.jack("B1-2", 2) }, -60},
		{"NothingMoved", func(*site) {}, -20},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := newSite(t)
			s.record(events.KindPlan, bearerPlan())
			u := s.laser(1000)
			s.readOn(events.FloorFace, "", u, "B1-3", 870)
			s.readOn(events.BearerFace, "", u, "B1-3", 1020)
			s.readOn(events.SupportFace, "", u, "B1-3", 1030)
			tt.moved(s)
			s.readOn(events.FloorFace, "", u, "B1-3", 910)
			s.readOn(events.FloorFace, "", u, "B1-3", 910)
			for _, f := range s.support("B1-3").Faces {
				want := map[events.Face]float64{events.FloorFace: 90, events.BearerFace: tt.want, events.SupportFace: -30}[f.Face]
				if math.Abs(f.Height.MM-want) > 1e-3 {
					t.Errorf("%s at %v, want %v", f.Face, f.Height.MM, want)
				}
			}
		})
	}
}
