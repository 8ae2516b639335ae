package jobs_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

// Three bearers of three supports; the middle one stands half a span further on.
func TestPairsAcross(t *testing.T) {
	var supports []events.Support
	bearerOf := map[string]string{}
	for b := range 3 {
		for i := range 3 {
			id, shift := fmt.Sprintf("B%d-%d", b+1, i+1), 0.0
			if b == 1 {
				shift = 0.8
			}
			supports = append(supports, events.Support{ID: id, X: float64(i)*1.6 + shift, Y: float64(b) * 1.5})
			bearerOf[id] = fmt.Sprintf("B%d", b+1)
		}
	}
	var got []string
	for _, p := range jobs.PairsAcross(supports, bearerOf) {
		got = append(got, min(p[0], p[1])+" "+max(p[0], p[1]))
	}
	slices.Sort(got)
	want := []string{"B1-1 B2-1", "B1-2 B2-1", "B1-2 B2-2", "B1-3 B2-2", "B1-3 B2-3", "B2-1 B3-1", "B2-1 B3-2", "B2-2 B3-2", "B2-2 B3-3", "B2-3 B3-3"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("pairs (-want +got):\n%s", diff)
	}
	t.Run("TooFar", func(t *testing.T) {
		far := []events.Support{{ID: "A", X: 0}, {ID: "B", X: 0, Y: jobs.AcrossM + 0.1}}
		if got := jobs.PairsAcross(far, map[string]string{"A": "1", "B": "2"}); got != nil {
			t.Errorf("%v stand too far apart", got)
		}
	})
	t.Run("Crowd", func(t *testing.T) {
		var all []events.Support
		for i := range 5000 {
			all = append(all, events.Support{ID: fmt.Sprint(i)})
		}
		if got := jobs.PairsAcross(all, nil); got != nil {
			t.Errorf("%d pairs on one spot", len(got))
		}
	})
}
