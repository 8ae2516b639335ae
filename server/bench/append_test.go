//go:build bench

package bench

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"relevel/events"
)

// appends says how many clients append at once, and over how many firms the jobs are
// spread.
type appends struct{ clients, firms int }

func (a appends) name() string {
	if a.firms > 1 {
		return fmt.Sprintf("append-%d-firms", a.clients)
	}
	return fmt.Sprintf("append-%d", a.clients)
}

// benchJobs is how many jobs there are, each with forty supports.
const benchJobs = 32

// compareAppends appends readings over HTTP, each answered with the new figures of its
// job, and by hand: lock, update, insert and commit, without HTTP, hashes or figures.
func compareAppends(t *testing.T, s *site, a appends, at tempo) figure {
	sites, all := make([]*site, benchJobs), make([]*job, benchJobs)
	for i := range all {
		sites[i] = s
		if a.firms > 1 {
			sites[i] = s.another(t)
		}
		all[i] = sites[i].newJob(t)
	}
	bare := newBare(t, s, a.clients)
	f := figure{name: a.name()}
	var ours, byHand []run
	for range at.pairs {
		one := forAWhile(t, at.while, a.clients, func(n int) error { return sites[n%benchJobs].read(all[n%benchJobs]) })
		other := forAWhile(t, at.while, a.clients, func(n int) error { return bare.append(n % benchJobs) })
		ours, byHand = append(ours, one), append(byHand, other)
		f.ratios = append(f.ratios, one.perSecond/other.perSecond)
	}
	one, other := middle(ours), middle(byHand)
	f.told = fmt.Sprintf("over HTTP %.0f/s p50 %v p99 %v; bare pgx lock + update + insert %.0f/s p50 %v p99 %v",
		one.perSecond, short(one.p50), short(one.p99), other.perSecond, short(other.p50), short(other.p99))
	return f
}

// batchLimit is what a phone may wait for 500 records.
const batchLimit = 150 * time.Millisecond

// measureBatches sends as many records at once as a batch may have.
func measureBatches(t *testing.T, s *site, at tempo) figure {
	j := s.newJob(t)
	var took []time.Duration
	for range at.pairs {
		batch := make([]json.RawMessage, events.MaxBatchEvents)
		for i := range batch {
			batch[i] = s.reading(j, fmt.Sprintf("B%d-%d", j.count%4+1, j.count%10+1))
		}
		took = append(took, timed(t, func() error { return s.post(j, batch) }))
	}
	return figure{"batch-500", within(batchLimit, took),
		fmt.Sprintf("a batch of %d readings %v of at most %v", events.MaxBatchEvents, short(quantile(took, 0.5)), batchLimit)}
}

// compareLengths shows whether an append costs more in a long log.
func compareLengths(t *testing.T, s *site) (all []figure) {
	lengths := []int{100, 1_000, 10_000, 100_000}
	jobs := make([]*job, len(lengths))
	for i, n := range lengths {
		jobs[i] = s.newJob(t)
		s.fill(t, jobs[i], n)
	}
	took := make([][]time.Duration, len(lengths))
	for range 300 {
		for i := range jobs {
			took[i] = append(took[i], timed(t, func() error { return s.read(jobs[i]) }))
		}
	}
	least := quantile(took[0], 0.5)
	for i, n := range lengths {
		p50 := quantile(took[i], 0.5)
		all = append(all, figure{fmt.Sprintf("length-%d", n), []float64{float64(least) / float64(p50)},
			fmt.Sprintf("append to a job of %d events: p50 %v; one of %d is 1", n, short(p50), lengths[0])})
	}
	return all
}
