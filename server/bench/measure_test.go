//go:build bench

package bench

import (
	"fmt"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// tempo is how often pairs are measured in turn, and how long half of one runs.
type tempo struct {
	pairs int
	while time.Duration
}

var (
	thorough = tempo{pairs: 7, while: 1500 * time.Millisecond}
	brisk    = tempo{pairs: 5, while: 250 * time.Millisecond}
)

// figure is one line of the table: by how many times ours is ahead of its peer, or of
// the limit that it is to keep. Above 1 it is ahead.
type figure struct {
	name   string
	ratios []float64 // of each pair
	told   string    // what was compared, with its figures
}

// print writes the whole line; the spread is that of the pairs.
func (f figure) print() {
	fmt.Printf("%-18s %6.2f  %5.2f to %5.2f  %s\n", f.name, median(f.ratios), slices.Min(f.ratios), slices.Max(f.ratios), f.told)
}

// printShort writes what programs read: the name and the median.
func (f figure) printShort() { fmt.Printf("%s %.2f\n", f.name, median(f.ratios)) }

// within compares what was measured with what it may take.
func within(limit time.Duration, took []time.Duration) (ratios []float64) {
	for _, one := range took {
		ratios = append(ratios, float64(limit)/float64(one))
	}
	return ratios
}

// run is what one half of a pair came to.
type run struct {
	perSecond float64
	p50, p99  time.Duration
}

// forAWhile runs an operation by a number of clients at once, each call numbered.
func forAWhile(t *testing.T, while time.Duration, clients int, do func(n int) error) run {
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

func short(d time.Duration) time.Duration {
	if d < time.Millisecond {
		return d.Round(time.Microsecond)
	}
	return d.Round(10 * time.Microsecond)
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
