package jobs_test

import (
	"math"
	"testing"

	"relevel/events"
)

// letDown jacks a support up by 10 mm, packs it, lets its jack down and, where
// that lost something, reads it again. It returns the height it ends at.
func (s *site) letDown(u events.ID, support string, at, loss float64) float64 {
	s.t.Helper()
	at += 10
	s.jack(support, 10)
	s.read(u, support, 1000-at)
	s.pack(support, events.Final, 10)
	s.down(support)
	if loss > 0 {
		at -= loss
		s.read(u, support, 1000-at)
	}
	return at
}

// What jack-downs of one kind lost is expected of the next one, the better
// known the more there were; one that slipped does not lead it astray.
func TestBeddingIsLearned(t *testing.T) {
	tests := []struct {
		name   string
		losses []float64
		lost   float64 // expected of the next
		most   float64 // its ± at most
	}{
		{"nothing known", nil, 0, 3},
		{"one", []float64{3}, 1, 2.7},
		{"three alike", []float64{3, 3, 3}, 1.8, 2.4},
		{"one that slipped", []float64{3, 3, 12, 3, 3, 3, 3, 3}, 2.4, 2.1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, u := agreed(t)
			at := 0.0
			for _, loss := range tt.losses {
				at = s.letDown(u, "B1-1", at, loss)
			}
			s.letDown(u, "B1-4", -5, 0)
			v := s.support("B1-4").Present
			if math.Abs(5-v.MM-tt.lost) > 0.4 || v.SD > tt.most {
				t.Errorf("expected at %.2f ± %.2f, want %v below 5", v.MM, v.SD, tt.lost)
			}
		})
	}
}

// A new pad is another kind.
func TestBeddingByKind(t *testing.T) {
	s, u := agreed(t)
	at := 0.0
	for range 4 {
		at = s.letDown(u, "B1-1", at, 4)
	}
	s.record(events.KindSupportWork, events.SupportWork{Support: "B1-4", Step: events.Poured})
	s.letDown(u, "B1-4", -5, 0)
	if v := s.support("B1-4").Present; math.Abs(v.MM-5) > 0.5 {
		t.Errorf("at %v, want 5: nothing is known about new pads", v.MM)
	}
}
