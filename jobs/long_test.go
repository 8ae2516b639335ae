package jobs_test

import (
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
		steps := []func(){d.read, d.read, d.read, d.read, d.readBothFaces, d.jack, d.jack, d.pack, d.down, d.sign, d.setUp, d.difference, d.closeSetup, d.agree}
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
