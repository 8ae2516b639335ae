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

// measureReplans compares what a reading costs where 200 supports are to be
// lifted, with the figures of what it touched and the rounds planned anew, with
// folding alone.
func measureReplans(t *testing.T) {
	s := &site{firm: newID()}
	j := &job{id: newID(), device: newID(), setup: newID()}
	var log []events.Stored
	add := func(raw json.RawMessage) events.Stored {
		in, err := events.Receive(raw)
		must(t, err)
		log = append(log, events.Stored{Event: in.Event, Seq: int64(len(log) + 1), RecordedAt: time.Now().UTC(), Raw: raw})
		return log[len(log)-1]
	}
	plan := lowPlan(200)
	add(s.event(j, events.KindPlan, plan))
	add(s.event(j, events.KindSetup, events.Setup{Instrument: "laser", Datums: []events.DatumReading{{Datum: "D1", Staff: length(1000)}}}))
	for _, at := range plan.Supports {
		add(s.reading(j, at.ID))
	}
	add(s.event(j, events.KindAim, events.Aim{Aim: events.AimLevel, Height: length(20), Face: events.BearerFace, StepMM: 3, Ratio: 500, AgreedBy: "owner"}))
	state := jobs.Refold(j.id, log)
	now := time.Now()
	var ratios []float64
	var whole, fold time.Duration
	const times = 20
	for range thorough.pairs {
		readings := make([]events.Stored, 2*times)
		for i := range readings {
			readings[i] = add(s.reading(j, plan.Supports[i].ID))
		}
		fold = timed(t, func() error {
			for _, e := range readings[:times] {
				if !jobs.Fold(state, e) {
					return fmt.Errorf("event %d comes late", e.Seq)
				}
			}
			return nil
		}) / times
		whole = timed(t, func() error {
			for _, e := range readings[times:] {
				if !jobs.Fold(state, e) {
					return fmt.Errorf("event %d comes late", e.Seq)
				}
				state.Figures(now, state.Touched([]events.Stored{e})...)
			}
			return nil
		}) / times
		ratios = append(ratios, float64(fold)/float64(whole))
	}
	fmt.Printf("replan              %5.2f   a reading at 200 supports, its figures and %d rounds in %v; folding alone %v\n",
		median(ratios), state.Picture(now).Rounds.Left, whole.Round(time.Microsecond), fold.Round(time.Microsecond))
}

// lowPlan is bearers of ten supports with sections, a metre and a half apart.
func lowPlan(n int) events.Plan {
	p := events.Plan{Datums: []events.Datum{{ID: "D1", X: -2, Height: length(0)}}}
	for i := range n {
		if i%10 == 0 {
			p.Bearers = append(p.Bearers, events.Bearer{ID: fmt.Sprintf("B%d", i/10+1), WidthMM: 100, DepthMM: 100, EMPa: 10500})
		}
		b := &p.Bearers[len(p.Bearers)-1]
		id := fmt.Sprintf("%s-%d", b.ID, i%10+1)
		p.Supports = append(p.Supports, events.Support{ID: id, X: float64(i%10) * 1.8, Y: float64(i/10) * 1.5})
		b.Supports = append(b.Supports, id)
	}
	return p
}
