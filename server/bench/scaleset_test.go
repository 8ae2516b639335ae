//go:build bench

package bench

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"golang.org/x/sync/errgroup"

	"relevel/events"
	"relevel/events/pgdb/localpg"
	"relevel/jobs"
	"relevel/server"
)

// scaleSet is an invented installation that grows: firms, their jobs and what was
// recorded on them, the same for the same numbers. It is loaded beside the program's
// own path, for speed, with what that path would have written: Batch.Arrange makes the
// leaves and roots, and Rebuild what is derived.
type scaleSet struct {
	*served
	firms, most int     // how many firms and jobs there may be
	stretch     float64 // what the usual lengths of jobs are multiplied by

	all    []*scaleFirm
	jobs   int
	events int64
}

// scaleFirm is one firm of the set; its site asks for it.
type scaleFirm struct {
	site   *site
	person events.ID
	crews  []events.ID
	jobs   []*scaleJob
}

// scaleJob is one job, whose history goes on.
type scaleJob struct {
	of     *scaleFirm
	number int
	length int
	mu     sync.Mutex
	house  *history
}

// How the set is made up: a usual firm comes first, then a large one; one job has as many
// records as anybody's ever will. Lengths of jobs have a log-normal distribution, most of
// them some hundred records, some of them thousands.
const (
	usualFirm    = 30
	largeFirm    = 500
	longJob      = usualFirm + largeFirm // its number
	longLength   = 100_000
	lengthMedian = 300
	lengthSigma  = 1.26
	lengthMean   = 664 // median × exp(σ²/2)
	lengthMost   = 30_000
)

// firmOf is the number of the firm that a job belongs to.
func (s *scaleSet) firmOf(job int) int {
	switch {
	case job < usualFirm:
		return 0
	case job < longJob:
		return 1
	}
	each := max(1, (s.most-longJob+s.firms-3)/max(1, s.firms-2))
	return 2 + (job-longJob)/each
}

// lengthOf is how many records a job has.
func (s *scaleSet) lengthOf(job int) int {
	if job == longJob {
		return longLength
	}
	chances := rand.New(rand.NewPCG(uint64(job), 2))
	return int(math.Min(lengthMost, math.Max(40, s.stretch*lengthMedian*math.Exp(lengthSigma*chances.NormFloat64()))))
}

// grow adds jobs until there are so many records, or no more jobs.
func (s *scaleSet) grow(until int64) {
	s.t.Helper()
	added := map[int][]*scaleJob{}
	var order []int
	for ; s.events < until && s.jobs < s.most; s.jobs++ {
		f := s.firmOf(s.jobs)
		if added[f] == nil {
			order = append(order, f)
		}
		j := &scaleJob{number: s.jobs, length: s.lengthOf(s.jobs)}
		added[f], s.events = append(added[f], j), s.events+int64(j.length)
	}
	for f := len(s.all); f <= order[len(order)-1]; f++ {
		s.all = append(s.all, s.newFirm(f))
	}
	var loading errgroup.Group
	loading.SetLimit(2)
	for _, f := range order {
		loading.Go(func() error { return s.load(s.all[f], added[f]) })
	}
	must(s.t, loading.Wait())
	s.count()
	s.execute(`VACUUM (ANALYZE)`)
	s.settled()
}

// newFirm makes a firm with somebody who records and two crews.
func (s *scaleSet) newFirm(n int) *scaleFirm {
	one := *s.site
	f := &scaleFirm{site: &one}
	one.firm = newID()
	one.enter(s.t)
	for range 15 {
		one.more = append(one.more, one.newToken(s.t, "bench"))
	}
	p := jobs.Person{Firm: one.firm, ID: newID(), Name: "Ada", Role: jobs.SiteLead, CreatedAt: time.Now().UTC()}
	must(s.t, s.store.CreatePerson(s.t.Context(), p))
	f.person = p.ID
	for _, name := range []string{"North", "South"} {
		c := jobs.Crew{Firm: one.firm, ID: newID(), Name: name}
		must(s.t, s.store.CreateCrew(s.t.Context(), c))
		f.crews = append(f.crews, c.ID)
	}
	return f
}

// load writes jobs of one firm and then all that is derived from them.
func (s *scaleSet) load(f *scaleFirm, added []*scaleJob) error {
	ctx := s.t.Context()
	conn, err := pgx.Connect(ctx, s.dsn(localpg.Superuser))
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	for _, j := range added {
		begins := time.Now().UTC().AddDate(0, 0, -10-j.length/50).Truncate(24 * time.Hour).Add(7 * time.Hour)
		j.of, j.house = f, newHistory(s.t, int64(j.number), f.person, begins)
		j.house.work(j.length)
		j.length = len(j.house.due)
		row := jobs.Job{Firm: f.site.firm, ID: j.house.job, Name: fmt.Sprintf("House %d", j.number), Place: "an invented street",
			Crew: f.crews[j.number%len(f.crews)], Zone: "Australia/Melbourne", CreatedAt: begins}
		if err := s.store.CreateJob(ctx, row); err != nil {
			return err
		}
		if err := copyJob(s.t, conn, f.site.firm, j); err != nil {
			return fmt.Errorf("load %s: %w", row.Name, err)
		}
	}
	f.jobs = append(f.jobs, added...)
	_, err = server.Rebuild(ctx, s.log, s.store, f.site.firm)
	return err
}

// copyJob writes a job's log: its records by COPY, which a superuser alone may do into
// tables with row security, and its head last.
func copyJob(t *testing.T, conn *pgx.Conn, firm events.ID, j *scaleJob) error {
	ctx, id := t.Context(), j.house.job
	var head events.Head
	return pgx.BeginFunc(ctx, conn, func(tx pgx.Tx) error {
		for int(head.Seq) < j.length {
			b := events.Batch{Firm: firm, Job: id, Events: j.house.take(min(events.MaxBatchEvents, j.length-int(head.Seq)))}
			b.RecordedAt = j.house.now.UTC().Truncate(time.Millisecond)
			salts := make([]events.Salt, len(b.Events))
			for i := range salts {
				j.house.source.Read(salts[i][:]) // never fails
			}
			a := b.Arrange(head, nil, salts)
			head = a.Receipt.Head
			if err := copyEvents(t, tx, firm, a.New); err != nil {
				return err
			}
		}
		var frontier []byte
		for _, h := range head.Frontier {
			frontier = append(frontier, h[:]...)
		}
		_, err := tx.Exec(ctx, `INSERT INTO head (firm, job, seq, root, frontier) VALUES ($1, $2, $3, $4, $5)`,
			[16]byte(firm), [16]byte(id), head.Seq, head.Root[:], frontier)
		return err
	})
}

func copyEvents(t *testing.T, tx pgx.Tx, firm events.ID, all []events.Stored) error {
	_, err := tx.CopyFrom(t.Context(), pgx.Identifier{"event"}, []string{"firm", "job", "seq", "id", "kind", "v", "recorded_at", "leaf"},
		pgx.CopyFromSlice(len(all), func(i int) ([]any, error) {
			e := all[i]
			return []any{[16]byte(firm), [16]byte(e.Job), e.Seq, [16]byte(e.ID), string(e.Kind), int32(e.V), e.RecordedAt, e.Leaf[:]}, nil
		}))
	if err != nil {
		return err
	}
	_, err = tx.CopyFrom(t.Context(), pgx.Identifier{"event_bytes"}, []string{"firm", "job", "seq", "salt", "bytes", "body"},
		pgx.CopyFromSlice(len(all), func(i int) ([]any, error) {
			e := all[i]
			return []any{[16]byte(firm), [16]byte(e.Job), e.Seq, e.Salt, e.Raw, e.Body}, nil
		}))
	return err
}

// count counts what was recorded since, too.
func (s *scaleSet) count() {
	s.events = 0
	for _, f := range s.all {
		for _, j := range f.jobs {
			s.events += j.house.given
		}
	}
}

// some draws jobs of the whole set, each once; others draws other ones.
func (s *scaleSet) some(n int, lot uint64) []*scaleJob {
	var all []*scaleJob
	for _, f := range s.all {
		for _, j := range f.jobs {
			if j.number != longJob {
				all = append(all, j)
			}
		}
	}
	rand.New(rand.NewPCG(lot, 3)).Shuffle(len(all), func(i, k int) { all[i], all[k] = all[k], all[i] })
	return all[:min(n, len(all))]
}

// append has the crew record one more thing and the phone send it.
func (j *scaleJob) append() error {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.send(1)
}

// send has the phone send the next records together.
func (j *scaleJob) send(n int) error {
	var batch []json.RawMessage
	for _, in := range j.house.take(n) {
		batch = append(batch, in.Raw)
	}
	return j.of.site.post(&job{id: j.house.job}, batch)
}
