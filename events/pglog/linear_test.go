package pglog_test

import (
	"context"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/anishathalye/porcupine"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
)

// asked is a call on a log, by the place of its job. ids are those of an append; a read
// and a look at the head have none.
type asked struct {
	job   int
	ids   []events.ID
	after int64
	head  bool
}

// answered is what came back. Of an append without an answer nobody knows.
type answered struct {
	unknown bool
	results []events.Result
	ids     []events.ID
	seq     int64
}

// readLimit is how many events a read asks for.
const readLimit = 7

// plainLog says what a log of one job is: a list of ids. An append adds those that are
// not in it, all at once, and says where each is.
var plainLog = (&porcupine.NondeterministicModel{
	Partition: byJob,
	Init:      func() []any { return []any{[]events.ID(nil)} },
	Step: func(state, input, output any) []any {
		return step(state.([]events.ID), input.(asked), output.(answered))
	},
	Equal: func(a, b any) bool { return slices.Equal(a.([]events.ID), b.([]events.ID)) },
}).ToModel()

func byJob(history []porcupine.Operation) [][]porcupine.Operation {
	parts := map[int][]porcupine.Operation{}
	for _, o := range history {
		job := o.Input.(asked).job
		parts[job] = append(parts[job], o)
	}
	var all [][]porcupine.Operation
	for _, part := range parts {
		all = append(all, part)
	}
	return all
}

// step returns the states that a log may be in after a call that was answered so; none
// if a log could not have answered so.
func step(list []events.ID, in asked, out answered) []any {
	switch {
	case in.head && out.seq == int64(len(list)):
		return []any{list}
	case in.head:
		return nil
	case in.ids == nil:
		from := min(in.after, int64(len(list)))
		page := list[from:min(from+readLimit, int64(len(list)))]
		if !slices.Equal(page, out.ids) {
			return nil
		}
		return []any{list}
	}
	longer, results := slices.Clone(list), make([]events.Result, len(in.ids))
	for i, id := range in.ids {
		at := slices.Index(longer, id)
		if at >= 0 {
			results[i] = events.Result{ID: id, Outcome: events.WasRepeated, Seq: int64(at) + 1}
			continue
		}
		longer = append(longer, id)
		results[i] = events.Result{ID: id, Outcome: events.WasStored, Seq: int64(len(longer))}
	}
	switch {
	case out.unknown:
		return []any{list, longer}
	case !slices.Equal(results, out.results) || out.seq != int64(len(longer)):
		return nil
	}
	return []any{longer}
}

// Several clients append and read through two servers whose connections are cut again
// and again. What they were answered is what one log, used by one after the other, could
// have answered.
func TestLinear(t *testing.T) {
	db := pgtest.New(t)
	logs := []events.Log{pglog.New(db.App), pglog.New(db.Open(pgdb.App))}
	done := make(chan struct{})
	var cutting sync.WaitGroup
	cutting.Go(func() { cutConnections(t, db, done) })
	history := record(t, logs, 40)
	close(done)
	cutting.Wait()
	if got := porcupine.CheckOperationsTimeout(plainLog, history, time.Minute); got != porcupine.Ok {
		t.Errorf("%d calls: %s", len(history), got)
	}
	lost := slices.ContainsFunc(history, func(o porcupine.Operation) bool { return o.Output.(answered).unknown })
	t.Logf("%d calls, some without an answer: %t", len(history), lost)
}

// cutConnections ends the sessions of the server's role, now and again.
func cutConnections(t *testing.T, db *pgtest.DB, done <-chan struct{}) {
	boss := db.Connect(localpg.Superuser)
	for {
		select {
		case <-done:
			return
		case <-time.After(rand.N(60 * time.Millisecond)):
		}
		_, err := boss.Exec(context.Background(), `
			SELECT pg_terminate_backend(pid) FROM pg_stat_activity
			WHERE datname = current_database() AND usename = $1`, pgdb.App)
		if err != nil {
			t.Error(err)
			return
		}
	}
}

// client uses a log and notes what it was answered, and when.
type client struct {
	t     *testing.T
	log   events.Log
	jobs  []*job
	maker *eventstest.Maker
	began time.Time
	sent  map[int][]events.Incoming // by job
	calls []porcupine.Operation
}

// record has clients use two jobs of a firm through several logs over one store.
func record(t *testing.T, logs []events.Log, calls int) []porcupine.Operation {
	t.Helper()
	firm := eventstest.NewFirm(t)
	jobs := make([]*job, 2)
	for i := range jobs {
		jobs[i] = &job{t: t, firm: firm, id: eventstest.NewFirm(t)}
		eventually(t, func() error { return logs[0].Create(t.Context(), firm, jobs[i].id) })
	}
	clients := make([]*client, 4)
	began := time.Now()
	var all sync.WaitGroup
	for i := range clients {
		clients[i] = &client{t: t, log: logs[i%len(logs)], jobs: jobs, maker: eventstest.NewMaker(t), began: began, sent: map[int][]events.Incoming{}}
		all.Go(func() {
			for range calls {
				clients[i].call(i)
			}
		})
	}
	all.Wait()
	var history []porcupine.Operation
	for _, c := range clients {
		history = append(history, c.calls...)
	}
	return history
}

// eventually repeats what fails because a connection was cut.
func eventually(t *testing.T, do func() error) {
	t.Helper()
	var err error
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(time.Millisecond) {
		if err = do(); err == nil {
			return
		}
	}
	t.Error(err)
}

func (c *client) now() int64 { return int64(time.Since(c.began)) }

// call does one thing, until it is answered.
func (c *client) call(number int) {
	in := asked{job: rand.N(len(c.jobs))}
	j := c.jobs[in.job]
	switch rand.N(4) {
	case 0:
		in.head = true
	case 1:
		in.after = rand.N(int64(20))
	default:
		c.append(number, in)
		return
	}
	out, called := answered{}, c.now()
	eventually(c.t, func() error {
		called = c.now()
		if in.head {
			head, err := c.log.Head(c.t.Context(), j.firm, j.id)
			out.seq = head.Seq
			return err
		}
		page, err := c.log.Read(c.t.Context(), j.firm, j.id, in.after, readLimit)
		out.ids = nil
		for _, e := range page {
			out.ids = append(out.ids, e.ID)
		}
		return err
	})
	c.note(number, in, called, out)
}

// append sends some events, at times with one that was sent before, until there is an
// answer. A try without one may have stored them; after the answer it no longer can.
func (c *client) append(number int, in asked) {
	j := c.jobs[in.job]
	batch := eventstest.BatchOf(j.firm, j.id, c.maker.Notes(j.id, 1+rand.N(3))...)
	if sent := c.sent[in.job]; len(sent) > 0 && rand.N(3) == 0 {
		batch.Events = append(batch.Events, sent[rand.N(len(sent))])
	}
	c.sent[in.job] = append(c.sent[in.job], batch.Events...)
	for _, e := range batch.Events {
		in.ids = append(in.ids, e.Event.ID)
	}
	var tries []int64
	var got events.Receipt
	eventually(c.t, func() (err error) {
		tries = append(tries, c.now())
		got, err = c.log.Append(c.t.Context(), batch)
		return err
	})
	last := len(tries) - 1
	for _, called := range tries[:last] {
		c.note(number, in, called, answered{unknown: true})
	}
	c.note(number, in, tries[last], answered{results: got.Results, seq: got.Head.Seq})
}

func (c *client) note(number int, in asked, called int64, out answered) {
	c.calls = append(c.calls, porcupine.Operation{ClientId: number, Input: in, Call: called, Output: out, Return: c.now()})
}

// stale reads what was there when it was asked first.
type stale struct {
	events.Log
	mu   sync.Mutex
	page map[events.ID][]events.Stored
}

func (s *stale) Read(ctx context.Context, firm, job events.ID, after int64, limit int) ([]events.Stored, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, known := s.page[job]; !known {
		s.page[job], _ = s.Log.Read(ctx, firm, job, 0, 1000)
	}
	page := s.page[job][min(after, int64(len(s.page[job]))):]
	return page[:min(limit, len(page))], nil
}

// hasty answers an append before it is stored.
type hasty struct {
	events.Log
	mu   sync.Mutex
	late map[events.ID]events.Batch
}

func (h *hasty) Append(ctx context.Context, b events.Batch) (events.Receipt, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if late, waits := h.late[b.Job]; waits {
		delete(h.late, b.Job)
		if _, err := h.Log.Append(ctx, late); err != nil {
			return events.Receipt{}, err
		}
		return h.Log.Append(ctx, b)
	}
	h.late[b.Job] = b
	head, err := h.Log.Head(ctx, b.Firm, b.Job)
	return b.Arrange(head, nil, make([]events.Salt, len(b.Events))).Receipt, err
}

// forgetful takes a repeat for something new.
type forgetful struct{ events.Log }

func (f forgetful) Append(ctx context.Context, b events.Batch) (events.Receipt, error) {
	r, err := f.Log.Append(ctx, b)
	for i := range r.Results {
		r.Results[i].Outcome = events.WasStored
	}
	return r, err
}

// Logs that are none are found out.
func TestLinearFindsFaults(t *testing.T) {
	for name, broken := range map[string]events.Log{
		"stale":     &stale{Log: eventstest.NewMemLog(), page: map[events.ID][]events.Stored{}},
		"hasty":     &hasty{Log: eventstest.NewMemLog(), late: map[events.ID]events.Batch{}},
		"forgetful": forgetful{eventstest.NewMemLog()},
	} {
		t.Run(name, func(t *testing.T) {
			history := record(t, []events.Log{broken}, 40)
			if got := porcupine.CheckOperationsTimeout(plainLog, history, time.Minute); got != porcupine.Illegal {
				t.Errorf("%d calls: %s, want it found out", len(history), got)
			}
		})
	}
	history := record(t, []events.Log{eventstest.NewMemLog()}, 40)
	if got := porcupine.CheckOperationsTimeout(plainLog, history, time.Minute); got != porcupine.Ok {
		t.Errorf("of a log in memory: %s", got)
	}
}
