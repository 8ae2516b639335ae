//go:build !js

package seam_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"relevel/events"
)

// large is a floor of 120 supports in rooms, surveyed, agreed and under way: as
// large as a phone has to draw.
func large(t testing.TB) *floor {
	f := &floor{t: t, counts: map[events.ID]int64{}}
	r := rand.New(rand.NewPCG(7, 9))
	f.add(phone, events.KindPlan, largePlan(12, 10))
	f.setup = f.add(phone, events.KindSetup, events.Setup{Instrument: "laser", Datums: []events.DatumReading{{Datum: "D1", Staff: mm(1000)}}})
	for round := range 2 {
		for b := range 10 {
			for i := range 12 {
				f.read(fmt.Sprintf("B%d-%d", b, i), 1000+float64(r.IntN(20)))
			}
		}
		if round == 0 {
			f.add(phone, events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(0), StepMM: 3, NeighbourMM: 4, AgreedBy: "owner"})
		}
	}
	return f
}

// largePlan has bearers under a house of four rooms.
func largePlan(each, bearers int) events.Plan {
	p := events.Plan{Datums: []events.Datum{{ID: "D1", X: -1, Height: mm(0)}}, Street: events.Bottom}
	for b := range bearers {
		one := events.Bearer{ID: fmt.Sprintf("B%d", b), WidthMM: 100, DepthMM: 90, EMPa: 9000}
		for i := range each {
			id := fmt.Sprintf("B%d-%d", b, i)
			p.Supports = append(p.Supports, events.Support{ID: id, X: float64(i) * 1.8, Y: float64(b) * 1.6})
			one.Supports = append(one.Supports, id)
		}
		p.Bearers = append(p.Bearers, one)
	}
	wide, deep := float64(each)*1.8, float64(bearers)*1.6
	for i, name := range []string{"Hall", "Kitchen", "Front room", "Bedroom"} {
		x, y := float64(i%2)*wide/2, float64(i/2)*deep/2
		p.Rooms = append(p.Rooms, events.Room{Name: name, Outline: []events.Position{{x, y}, {x + wide/2, y}, {x + wide/2, y + deep/2}, {x, y + deep/2}}})
	}
	return p
}

func (f *floor) read(id string, staff float64) {
	f.add(phone, events.KindReading, events.Reading{Setup: f.setup, Point: id, Face: events.BearerFace, Staff: mm(staff)})
}

// timeOfDrawing prints how long the large floor takes to be seen again after one
// more reading: the state first, then the drawings of it.
func timeOfDrawing(t *testing.T, wasm string) {
	f := large(t)
	var pulled []any
	for _, e := range f.log {
		pulled = append(pulled, asListed(e))
	}
	series := []asking{ask(t, "take", request{"job": job, "events": pulled})}
	for i := range 40 {
		id := fmt.Sprintf("B%d-%d", i%10, i%12)
		f.read(id, 1004)
		at := request{"job": job, "now": f.end().Format(time.RFC3339), "region": "AU", "round": true, "support": id, "bearer": fmt.Sprintf("B%d", i%10)}
		series = append(series, ask(t, "record", request{"job": job, "events": []any{f.log[len(f.log)-1].Event}}),
			ask(t, "state", at), ask(t, "floor", at), ask(t, "section", at), ask(t, "line", at))
	}
	printTimes(t, "120 supports", series, underNode(t, wasm, series), "record", "state", "floor", "section", "line")
}

// printTimes prints the median and the slowest but a few of each call.
func printTimes(t *testing.T, of string, series []asking, answers []answered, names ...string) {
	t.Helper()
	took := map[string][]float64{}
	for i, a := range answers {
		if strings.HasPrefix(a.answer, `{"error"`) {
			t.Fatalf("%s: %s", series[i].name, a.answer)
		}
		took[series[i].name] = append(took[series[i].name], a.took/1000)
	}
	for _, name := range names {
		ms := slices.Sorted(slices.Values(took[name]))
		fmt.Printf("phonewasm: %-7s %6.2f ms, 95 %% within %6.2f (%s)\n", name, ms[len(ms)/2], ms[len(ms)*95/100], of)
	}
}
