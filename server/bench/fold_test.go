//go:build bench

package bench

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// measureFolds compares folding a job of 5 000 events with only opening their
// bodies, which no fold can do without.
func measureFolds(t *testing.T) {
	s := &site{firm: newID()}
	j := &job{id: newID(), device: newID(), setup: newID()}
	log := []events.Stored{}
	add := func(raw json.RawMessage) {
		in, err := events.Receive(raw)
		must(t, err)
		log = append(log, events.Stored{Event: in.Event, Seq: int64(len(log) + 1), RecordedAt: time.Now().UTC(), Raw: raw})
	}
	plan := events.Plan{Datums: []events.Datum{{ID: "D1", Height: length(0)}}}
	for n := range 40 {
		plan.Supports = append(plan.Supports, events.Support{ID: fmt.Sprintf("B%d-%d", n%4+1, n%10+1) + string(rune('a'+n/20)), X: float64(n)})
	}
	add(s.event(j, events.KindPlan, plan))
	add(s.event(j, events.KindSetup, events.Setup{Instrument: "laser", Datums: []events.DatumReading{{Datum: "D1", Staff: length(1000)}}}))
	for n := range 4998 {
		add(s.reading(j, plan.Supports[n%40].ID))
	}
	var ratios []float64
	var fold, open time.Duration
	for range rounds {
		open = timed(t, func() error {
			for _, e := range log {
				if _, err := events.Open(e.Kind, e.V, e.Body); err != nil {
					return err
				}
			}
			return nil
		})
		fold = timed(t, func() error {
			if p := jobs.Refold(j.id, log).Picture(time.Now()); len(p.SetAside) > 0 {
				return fmt.Errorf("set aside: %+v", p.SetAside[0])
			}
			return nil
		})
		ratios = append(ratios, float64(open)/float64(fold))
	}
	fmt.Printf("fold                %5.2f   %.0f events/s, 5 000 events and 40 supports in %v; opening the bodies alone %v\n",
		median(ratios), float64(len(log))/fold.Seconds(), short(fold), short(open))
}
