package server_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
	"relevel/jobs/pgjobs"
	"relevel/server"
)

// unknownType is the problem of which nobody knows whether it was stored.
const unknownType = "urn:relevel:problem:outcome-unknown"

// ack is one append that was acknowledged.
type ack struct {
	raw string
	seq int64
	at  time.Time
}

// persistent appends as phones do: what is not acknowledged is sent again as it is. It
// counts the answers that were not.
type persistent struct {
	c        *caller
	d        *device
	acks     []ack
	acked    atomic.Int64 // how many those are
	unknown  int          // of which nobody knew
	unserved int
	wrong    []string
}

func (p *persistent) write(ctx context.Context) {
	for ctx.Err() == nil {
		raw := p.d.raw("note", `{"text":"kept"}`)
		for {
			seq, done := p.once(raw)
			if done {
				p.acks = append(p.acks, ack{raw, seq, time.Now()})
				p.acked.Add(1)
				break
			}
			time.Sleep(20 * time.Millisecond)
		}
	}
}

func (p *persistent) once(raw string) (seq int64, done bool) {
	a, err := p.c.try(context.Background(), "POST", "/jobs/"+p.d.job.String()+"/events", batch(raw))
	if err != nil {
		p.wrong = append(p.wrong, err.Error())
		return 0, true
	}
	if a.status == http.StatusOK {
		var got taken
		if json.Unmarshal(a.body, &got) != nil || len(got.Results) != 1 || got.Results[0].Seq == 0 {
			p.wrong = append(p.wrong, string(a.body))
			return 0, true
		}
		return got.Results[0].Seq, true
	}
	var problem server.Problem
	json.Unmarshal(a.body, &problem)
	switch {
	case a.status != http.StatusServiceUnavailable:
		p.wrong = append(p.wrong, fmt.Sprintf("%d %s", a.status, a.body))
		return 0, true
	case problem.Type == unknownType:
		p.unknown++
	default:
		p.unserved++
	}
	return 0, false
}

// The primary is killed under eight writers, fenced, and its standby made the primary:
// nothing that was acknowledged is missing, no number is, and after a pause all go on.
func TestFailover(t *testing.T) {
	t.Parallel()
	db := pgtest.NewReplicated(t)
	s := newSiteOn(t, db.DB)
	c := s.firm("Level Best")
	const writers, onJobs = 8, 4
	var list []events.ID
	for range onJobs {
		list = append(list, c.newJob())
	}
	ctx, stop := context.WithCancel(t.Context())
	all := make([]*persistent, writers)
	var wg sync.WaitGroup
	for i := range all {
		all[i] = &persistent{c: c, d: newDevice(t, list[i%onJobs])}
		wg.Go(func() { all[i].write(ctx) })
	}
	awaitAcks(t, all)
	killed := time.Now()
	db.Kill(true)
	db.Promote()
	promoted := time.Since(killed)
	awaitAcks(t, all)
	stop()
	wg.Wait()
	tellFailover(t, all, killed, promoted)
	checkAcks(t, c, pglog.New(db.App), all)
}

// awaitAcks waits until some more of each writer's appends were acknowledged.
func awaitAcks(t *testing.T, all []*persistent) {
	t.Helper()
	end := time.Now().Add(time.Minute)
	for _, p := range all {
		for was := p.acked.Load(); p.acked.Load() < was+5; time.Sleep(10 * time.Millisecond) {
			if time.Now().After(end) {
				t.Fatal("a writer is not answered any more")
			}
		}
	}
}

// tellFailover prints what happened, and how long nobody was served.
func tellFailover(t *testing.T, all []*persistent, killed time.Time, promoted time.Duration) {
	t.Helper()
	var times []time.Time
	unknown, unserved := 0, 0
	for _, p := range all {
		unknown, unserved = unknown+p.unknown, unserved+p.unserved
		for _, a := range p.acks {
			times = append(times, a.at)
		}
		for _, wrong := range p.wrong {
			t.Error(wrong)
		}
	}
	slices.SortFunc(times, time.Time.Compare)
	var pause time.Duration
	after := 0
	for i, at := range times {
		if i > 0 && at.Sub(times[i-1]) > pause {
			pause = at.Sub(times[i-1])
		}
		if at.After(killed.Add(promoted)) {
			after++
		}
	}
	if after < len(all) || len(times)-after < len(all) {
		t.Errorf("%d of %d were acknowledged afterwards: nothing was tested", after, len(times))
	}
	t.Logf("%d acknowledged, %d of them after the failover; promoted in %v, %v without an answer; %d answered unknown, %d unavailable, and sent again",
		len(times), after, promoted.Round(time.Millisecond), pause.Round(time.Millisecond), unknown, unserved)
}

// checkAcks checks that all that was acknowledged is in the log under its number, once.
func checkAcks(t *testing.T, c *caller, log events.Log, all []*persistent) {
	t.Helper()
	logs := map[events.ID]map[int64]string{}
	lost := 0
	for _, p := range all {
		if logs[p.d.job] == nil {
			logs[p.d.job] = numbered(t, c, log, p.d.job)
		}
		for _, a := range p.acks {
			if logs[p.d.job][a.seq] != a.raw {
				lost++
			}
		}
	}
	if lost > 0 {
		t.Errorf("%d that were acknowledged are lost", lost)
	}
	kept, sent := 0, 0
	for _, l := range logs {
		kept += len(l)
	}
	for _, p := range all {
		sent += len(p.acks)
	}
	if kept != sent {
		t.Errorf("the logs hold %d of %d that were sent", kept, sent)
	}
}

// A commit that gave up its wait for a standby is no success, neither of what is new nor of
// what is sent again; once there is a standby again all of it is answered for.
func TestCommitWithoutAStandby(t *testing.T) {
	t.Parallel()
	db := pgtest.NewReplicated(t)
	pool, err := pgdb.Open(t.Context(), db.DSN(pgdb.App)+"&statement_timeout=1s")
	must(t, err)
	t.Cleanup(pool.Close)
	db.App = pool
	s := newSiteOn(t, db.DB)
	c := s.firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	c.post(job, d.raw("note", `{"text":"with a standby"}`))
	pgtest.Pause(t, db.Standby)
	raw := d.raw("note", `{"text":"without one"}`)
	path := "/jobs/" + job.String() + "/events"
	newJob := fmt.Appendf(nil, `{"id":"%s","name":"16 Wattle Street","zone":"UTC"}`, newID(t))
	for range 2 { // the second time it is there
		for path, body := range map[string][]byte{path: batch(raw), "/jobs": newJob} {
			if p := c.send("POST", path, body).problem(t, 503, ""); p.Type != unknownType || p.Title != "Outcome unknown" {
				t.Errorf("%s: %+v, want it unknown", path, p)
			}
		}
	}
	pgtest.Resume(t, db.Standby)
	var got taken
	c.send("POST", path, batch(raw)).want(t, 200, &got)
	if r := got.Results[0]; r.Outcome != events.WasRepeated || r.Seq != 2 {
		t.Errorf("sent again: %+v", r)
	}
	c.send("POST", "/jobs", newJob).want(t, 201, nil)
}

// An old primary that comes back and was not fenced takes writes, which nobody follows: it
// never acknowledges one, because its commits wait for a standby that is another's now.
func TestUnfencedPrimaryAcknowledgesNothing(t *testing.T) {
	t.Parallel()
	db := pgtest.NewReplicated(t)
	pool, err := pgdb.Open(t.Context(), db.Primary.DSN(pgdb.App, db.Name)+"&statement_timeout=1s")
	must(t, err)
	t.Cleanup(pool.Close)
	store := pgjobs.New(db.App)
	old := *db.DB
	old.App = pool // a server that knows of no other
	s := newSiteOn(t, &old)
	c := newFirm(t, store, s.URL, "Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	c.post(job, d.raw("note", `{}`))
	db.Kill(false)
	db.Promote()
	for end := time.Now().Add(time.Minute); pool.Ping(t.Context()) != nil && time.Now().Before(end); {
		time.Sleep(20 * time.Millisecond)
	}
	raw := d.raw("note", `{"text":"to nobody"}`)
	for range 3 {
		if a := c.send("POST", "/jobs/"+job.String()+"/events", batch(raw)); a.status != 503 {
			t.Errorf("it answers %d: %s", a.status, a.body)
		}
	}
}
