package jobs_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

// A job of thousands of events keeps no more unknowns than it has faces, each
// with one reading in doubt, coverings, datums and open planes, and every figure
// of it stays a number with a positive ±. It is continued event by event, and
// that is what a refold comes to.
func TestLongJobs(t *testing.T) {
	for seed := range uint64(6) {
		d := dice{Rand: rand.New(rand.NewPCG(seed, 41)), site: newSite(t), last: map[string]events.ID{}}
		d.plan()
		d.setUp()
		d.agree()
		any := func() events.ID { return d.setups[len(d.setups)-1-d.IntN(min(20, len(d.setups)))] }
		lasers := func() { // nobody closes them
			who := d.IntN(9)
			d.setups = append(d.setups, d.site.by(who, events.KindSetup, events.Setup{Instrument: fmt.Sprint("laser of ", who), Datums: d.datums()}))
		}
		late := func() {
			d.site.record(events.KindReading, events.Reading{Setup: any(), Point: d.name(), Face: events.BearerFace, Staff: d.staff(events.BearerFace)})
			d.site.record(events.KindSetupClosed, events.SetupClosed{Setup: any(), Datums: d.datums()})
		}
		void := func() {
			if d.IntN(20) == 0 {
				d.site.record(events.KindVoid, events.Void{Event: d.site.log[d.IntN(len(d.site.log)-1)+1].ID, Why: "slip"})
			}
		}
		steps := []func(){lasers, late, void, d.read, d.read, d.read, d.read, d.readBothFaces, d.jack, d.jack, d.pack, d.down, d.sign, d.setUp, d.difference, d.closeSetup, d.agree}
		state := jobs.New(d.site.job)
		most := 0
		for len(d.site.log) < 2500 {
			steps[d.IntN(len(steps))]()
			for _, e := range d.site.log[state.Seq():] {
				if !jobs.Fold(state, e) {
					state = jobs.Refold(d.site.job, d.site.log)
					break
				}
			}
			most = max(most, state.Unknowns())
		}
		// Floor with its covering of now and two of before, bearer; each twice; three
		// datums twice; six planes.
		if bound := len(d.names)*4*2 + 3*2 + 6; most > bound {
			t.Errorf("seed %d: %d unknowns for %d supports, want at most %d", seed, most, len(d.names), bound)
		}
		continued, whole := state.Picture(d.site.clock), jobs.Refold(d.site.job, d.site.log).Picture(d.site.clock)
		if diff := cmp.Diff(whole, continued); diff != "" {
			t.Errorf("seed %d: continued, it is another state (-refolded +continued):\n%s", seed, diff)
		}
		for _, v := range continued.Supports {
			for _, f := range v.Faces {
				if math.IsNaN(f.Height.MM) || math.IsInf(f.Height.MM, 0) || !(f.Height.SD > 0) || f.Height.SD > 1e5 {
					t.Errorf("seed %d: %s %s at %+v", seed, v.ID, f.Face, f.Height)
				}
			}
		}
	}
}
