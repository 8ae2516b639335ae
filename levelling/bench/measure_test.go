//go:build bench

package bench

import (
	"slices"
	"testing"
	"time"
)

// rounds is how often each pair is measured in turn.
const rounds = 5

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
