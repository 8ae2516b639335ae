//go:build bench

package bench

import (
	"encoding/json"
	"fmt"
	"runtime"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// What a job of 5 000 events may cost, by its supports, each read on two faces.
var stateLimits = map[int]struct {
	cold, next time.Duration
	kept       float64 // MB
}{
	40:  {30 * time.Millisecond, 300 * time.Microsecond, 0.3},
	200: {250 * time.Millisecond, 300 * time.Microsecond, 1.5},
}

const stateEvents = 5_000

// measureStates folds a job from nothing and by one more record, whose figures are
// asked for, and weighs its state. Time is that of the processor.
func measureStates(t *testing.T, supports int, at tempo) []figure {
	id, log, next := readHouse(t, supports)
	limits := stateLimits[supports]
	var cold, one []time.Duration
	for range at.pairs {
		cold = append(cold, busy(t, func() { jobs.Refold(id, log) }))
	}
	state, kept := weigh(func() *jobs.State { return jobs.Refold(id, log) })
	runtime.KeepAlive(log) // what states share with it weighs nothing
	now := time.Now()
	for range at.pairs {
		one = append(one, busy(t, func() {
			for range 50 {
				e := next()
				if !jobs.Fold(state, e) {
					t.Fatalf("event %d comes late", e.Seq)
				}
				state.Figures(now, state.Touched([]events.Stored{e})...)
			}
		})/50)
	}
	what := fmt.Sprintf("%d events at %d supports on two faces", stateEvents, supports)
	return []figure{
		{fmt.Sprintf("fold-cold-%d", supports), within(limits.cold, cold), fmt.Sprintf("%s from nothing: %v of at most %v", what, short(quantile(cold, 0.5)), limits.cold)},
		{fmt.Sprintf("fold-next-%d", supports), within(limits.next, one), fmt.Sprintf("%s, one more and its figures: %v of at most %v", what, short(quantile(one, 0.5)), limits.next)},
		{fmt.Sprintf("fold-kept-%d", supports), []float64{limits.kept / kept}, fmt.Sprintf("%s keep %.2f MB of at most %.1f", what, kept, limits.kept)},
	}
}

// busy is how long the processors work on something, the collector's work counted.
func busy(t *testing.T, do func()) time.Duration {
	before := processor(t)
	do()
	return max(processor(t)-before, time.Nanosecond)
}

// weigh tells how many MB something keeps that is made: of several, since what else
// the process keeps comes and goes.
func weigh(made func() *jobs.State) (*jobs.State, float64) {
	states := make([]*jobs.State, 16)
	before := inUse()
	for i := range states {
		states[i] = made()
	}
	after := inUse()
	runtime.KeepAlive(states)
	return states[0], (after - before) / float64(len(states)) / 1e6
}

func inUse() float64 {
	var m runtime.MemStats
	runtime.GC() // twice: what pools held goes at the second
	runtime.GC()
	runtime.ReadMemStats(&m)
	return float64(m.HeapAlloc)
}

// readHouse is a job whose supports are read on both faces again and again, with an aim
// that asks for rounds. next makes one more record.
func readHouse(t *testing.T, supports int) (id events.ID, log []events.Stored, next func() events.Stored) {
	s := &site{firm: newID()}
	j := &job{id: newID(), device: newID()}
	kept := func(raw json.RawMessage) events.Stored {
		in, err := events.Receive(raw)
		must(t, err)
		return events.Stored{Event: in.Event, Seq: j.count, RecordedAt: time.Now().UTC(), Raw: raw}
	}
	plan := lowPlan(supports)
	log = append(log, kept(s.event(j, events.KindPlan, plan)),
		kept(s.event(j, events.KindSetup, events.Setup{Instrument: "laser", Datums: []events.DatumReading{{Datum: "D1", Staff: length(1000)}}})))
	n := 0
	next = func() events.Stored {
		face := []events.Face{events.BearerFace, events.FloorFace}[n/supports%2]
		at := plan.Supports[n%supports].ID
		n++
		return kept(s.event(j, events.KindReading, events.Reading{Setup: j.setup, Point: at, Face: face, Staff: length(1010 + float64(n%2))}))
	}
	for len(log) < stateEvents {
		if len(log) == 3*supports {
			log = append(log, kept(s.event(j, events.KindAim, events.Aim{Aim: events.AimLevel, Height: length(20), Face: events.BearerFace, StepMM: 3, Ratio: 500, AgreedBy: "owner"})))
		}
		log = append(log, next())
	}
	return j.id, log, next
}
