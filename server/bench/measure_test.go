//go:build bench

package bench

import (
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// while is how long one half of a pair runs.
const while = 1500 * time.Millisecond

// run is what one half of a pair came to.
type run struct {
	perSecond float64
	p50, p99  time.Duration
}

// forAWhile runs an operation by a number of clients at once, each call numbered.
func forAWhile(t *testing.T, clients int, do func(n int) error) run {
	t.Helper()
	var next atomic.Int64
	took := make([][]time.Duration, clients)
	start := time.Now()
	var wg sync.WaitGroup
	for c := range clients {
		wg.Go(func() {
			for time.Since(start) < while {
				began := time.Now()
				if err := do(int(next.Add(1))); err != nil {
					t.Error(err)
					return
				}
				took[c] = append(took[c], time.Since(began))
			}
		})
	}
	wg.Wait()
	elapsed := time.Since(start)
	all := slices.Concat(took...)
	if t.Failed() || len(all) == 0 {
		t.FailNow()
	}
	return run{float64(len(all)) / elapsed.Seconds(), quantile(all, 0.5), quantile(all, 0.99)}
}

func timed(t *testing.T, do func() error) time.Duration {
	t.Helper()
	start := time.Now()
	if err := do(); err != nil {
		t.Fatal(err)
	}
	return time.Since(start)
}

func quantile(all []time.Duration, q float64) time.Duration {
	sorted := slices.Sorted(slices.Values(all))
	return sorted[min(len(sorted)-1, int(q*float64(len(sorted))))]
}

func median(all []float64) float64 {
	sorted := slices.Sorted(slices.Values(all))
	return sorted[len(sorted)/2]
}

// middle returns the run of median speed.
func middle(all []run) run {
	slices.SortFunc(all, func(a, b run) int { return int(a.perSecond - b.perSecond) })
	return all[len(all)/2]
}
