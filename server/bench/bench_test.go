//go:build bench

package bench

import (
	"fmt"
	"testing"
	"time"
)

// rounds is how often each pair is measured in turn.
const rounds = 5

// TestCompare prints the table. It fails only when something does not work:
// how fast a machine is, is no test.
func TestCompare(t *testing.T) {
	s := start(t)
	fmt.Println("Ours beside the same work by hand, measured in turn; the ratio is the median of",
		rounds, "pairs.")
	for _, clients := range []int{1, 8, 32} {
		compareAppends(t, s, clients)
	}
	compareLengths(t, s)
	measureFolds(t)
	measureReplans(t)
	comparePhotos(t, s)
}

func compareAppends(t *testing.T, s *site, clients int) {
	jobs := make([]*job, 32)
	for i := range jobs {
		jobs[i] = s.newJob(t)
	}
	bare := newBare(t, s, clients)
	var ratios []float64
	var ours, byHand []run
	for range rounds {
		a := forAWhile(t, clients, func(n int) error { return s.read(jobs[n%len(jobs)]) })
		b := forAWhile(t, clients, func(n int) error { return bare.append(n % len(jobs)) })
		ours, byHand = append(ours, a), append(byHand, b)
		ratios = append(ratios, a.perSecond/b.perSecond)
	}
	a, b := middle(ours), middle(byHand)
	fmt.Printf("append-%-2d           %5.2f   over HTTP %6.0f/s p50 %v p99 %v; bare pgx lock + update + insert %6.0f/s p50 %v p99 %v\n",
		clients, median(ratios), a.perSecond, short(a.p50), short(a.p99), b.perSecond, short(b.p50), short(b.p99))
}

// compareLengths shows whether an append costs more in a long log.
func compareLengths(t *testing.T, s *site) {
	lengths := []int{100, 1_000, 10_000, 100_000}
	jobs := make([]*job, len(lengths))
	for i, n := range lengths {
		jobs[i] = s.newJob(t)
		s.fill(t, jobs[i], n)
	}
	took := make([][]time.Duration, len(lengths))
	for range 300 {
		for i := range jobs {
			start := time.Now()
			if err := s.read(jobs[i]); err != nil {
				t.Fatal(err)
			}
			took[i] = append(took[i], time.Since(start))
		}
	}
	short0 := quantile(took[0], 0.5)
	for i, n := range lengths {
		p50 := quantile(took[i], 0.5)
		fmt.Printf("length-%-6d       %5.2f   append to a job of %d events: p50 %v; the ratio is to one of %d\n",
			n, float64(p50)/float64(short0), n, short(p50), lengths[0])
	}
}

func comparePhotos(t *testing.T, s *site) {
	bare := newBareBucket(t, s)
	var ratios []float64
	var ours, byHand []time.Duration
	for n := range rounds * 4 {
		photo := photoOf(n)
		a := timed(t, func() error { return s.putPhoto(photo) })
		b := timed(t, func() error { return bare.put(photo) })
		ours, byHand = append(ours, a), append(byHand, b)
		ratios = append(ratios, float64(b)/float64(a))
	}
	fmt.Printf("photo-put           %5.2f   1 MB over HTTP p50 %v; bare minio-go PutObject p50 %v; same store\n",
		median(ratios), short(quantile(ours, 0.5)), short(quantile(byHand, 0.5)))
}

func short(d time.Duration) time.Duration { return d.Round(10 * time.Microsecond) }
