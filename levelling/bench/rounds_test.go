//go:build bench

package bench

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	planner "relevel/levelling/rounds"
)

// TestComparePlan prints what planning the rounds of a floor costs, beside what
// one would write first: pass after pass over the supports, each of which goes as
// far as its neighbours let it. It fails when that needs fewer rounds.
func TestComparePlan(t *testing.T) {
	for _, supports := range []int{40, 200} {
		f := lowFloor(supports)
		var ratios []float64
		var ours, theirs []time.Duration
		var plan planner.Plan
		naive := 0
		for range rounds {
			const times = 50
			a := timed(t, func() (err error) {
				for range times {
					if plan, err = f.Plan(); err != nil {
						return err
					}
				}
				return nil
			}) / times
			b := timed(t, func() error {
				for range times {
					naive = passes(f)
				}
				return nil
			}) / times
			ours, theirs = append(ours, a), append(theirs, b)
			ratios = append(ratios, float64(b)/float64(a))
		}
		if len(plan.Rounds) > naive {
			t.Errorf("%d rounds, pass after pass needs %d", len(plan.Rounds), naive)
		}
		fmt.Printf("rounds-%-4d         %5.2f   %d supports: %d rounds in %v; pass after pass %d in %v\n",
			supports, median(ratios), supports, len(plan.Rounds), quantile(ours, 0.5).Round(time.Microsecond), naive, quantile(theirs, 0.5).Round(time.Microsecond))
	}
}

// lowFloor is bearers of ten supports with lifts of up to 25 mm, three at a time,
// neighbours held to a five hundredth of 1.8 m.
func lowFloor(n int) planner.Floor {
	r := rand.New(rand.NewPCG(uint64(n), 5))
	f := planner.Floor{Step: 3}
	for i := range n {
		f.Supports = append(f.Supports, planner.Support{Lift: 25 * r.Float64()})
		if i%10 != 0 {
			f.Pairs = append(f.Pairs, planner.Pair{A: i - 1, B: i, Limit: planner.Limit(1.8, 500)})
		}
		if i >= 10 {
			f.Pairs = append(f.Pairs, planner.Pair{A: i - 10, B: i, Limit: planner.Limit(1.8, 500)})
		}
	}
	return f
}

func passes(f planner.Floor) int {
	at := make([]float64, len(f.Supports))
	for count := 1; ; count++ {
		left := false
		for i, s := range f.Supports {
			by := math.Min(f.Step, s.Lift-at[i])
			for _, p := range f.Pairs {
				other := -1
				if p.A == i {
					other = p.B
				} else if p.B == i {
					other = p.A
				}
				if other >= 0 {
					most := math.Max(p.Limit, math.Abs(s.Lift-f.Supports[other].Lift))
					by = math.Min(by, at[other]+most-at[i])
				}
			}
			at[i] += math.Max(0, by)
			left = left || s.Lift-at[i] > 1e-9
		}
		if !left {
			return count
		}
	}
}
