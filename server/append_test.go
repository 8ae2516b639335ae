package server_test

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/jobs"
	"relevel/server"
)

// The answer to an append carries the new figures of what it touched, as the
// state has them.
func TestAppendOK(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	c.post(job, d.raw("plan", smallPlan), d.raw("aim", `{"aim":"level","height":0,"agreed_by":"the owner"}`))
	setup, opened := d.setup()
	got := c.post(job, opened, d.reading(setup, "B1-2", 1017))
	if got.Seq != 4 || got.Root == (events.Hash{}) {
		t.Errorf("seq %d, root %v; want 4 and the root", got.Seq, got.Root)
	}
	p := c.state(job)
	want, _ := p.Support("B1-2")
	i := 0
	for i < len(got.Supports) && got.Supports[i].ID != "B1-2" {
		i++
	}
	if i == len(got.Supports) {
		t.Fatalf("the answer is about %s, want B1-2 among them", mustJSON(t, got.Supports))
	}
	if diff := cmp.Diff(want, got.Supports[i]); diff != "" {
		t.Errorf("the answer differs from the state (-state +answer):\n%s", diff)
	}
	if want.Remaining == nil || want.Remaining.MM != 17 {
		t.Errorf("remaining = %+v, want 17", want.Remaining)
	}
}

func TestAppendRepeated(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	raws := []string{d.raw("plan", smallPlan), d.raw("note", `{"text":"two"}`)}
	first := c.post(job, raws...)
	var again taken
	c.send("POST", "/jobs/"+job.String()+"/events", batch(raws...)).want(t, 200, &again)
	for i, r := range again.Results {
		if r.Outcome != events.WasRepeated || r.Seq != first.Results[i].Seq {
			t.Errorf("%+v, want a repeat of %d", r, first.Results[i].Seq)
		}
	}
	if again.Seq != 2 || again.Root != first.Root {
		t.Errorf("seq %d and root %v, want them unchanged", again.Seq, again.Root)
	}
	// Whoever lost the first answer still gets the figures.
	if diff := cmp.Diff(first.Supports, again.Supports); diff != "" || len(first.Supports) != 2 {
		t.Errorf("the figures differ (-first +again):\n%s", diff)
	}
}

// What arrives late is folded in its place: the answer is that of a server
// that never saw another order.
func TestAppendLate(t *testing.T) {
	s := newSite(t)
	c := s.firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	plan := d.raw("plan", smallPlan)
	setup, opened := d.setup()
	early, later := d.reading(setup, "B1-1", 1010), d.raw("note", `{"text":"tea"}`)
	c.post(job, plan, opened, later)
	got := c.post(job, early)
	fresh := newSiteOn(t, s.db)
	want := c.at(fresh).state(job)
	if diff := cmp.Diff(want, c.state(job)); diff != "" {
		t.Errorf("the state differs from one folded afresh (-fresh +kept):\n%s", diff)
	}
	if len(got.Supports) == 0 || got.Supports[0].Present == nil || got.Supports[0].Present.MM != -10 {
		t.Errorf("the answer is %s, want B1-1 at −10", mustJSON(t, got.Supports))
	}
}

// Once events are stored nothing that fails may take that back.
func TestAppendStoredWhateverFollows(t *testing.T) {
	var broken atomic.Bool // the server works behind its answers too
	log := eventstest.NewMemLog()
	log.Before = func(method string) error {
		if broken.Load() && method != "append" {
			return fmt.Errorf("%w: %s", events.ErrUnavailable, method)
		}
		return nil
	}
	s := newSite(t, func(c *server.Config) { c.Log = log })
	c := s.firm("Level Best")
	job := c.newJob()
	broken.Store(true)
	d := newDevice(t, job)
	got := c.post(job, d.raw("plan", smallPlan))
	if got.Seq != 1 || len(got.Supports) != 0 {
		t.Errorf("seq %d with %d supports, want 1 and none", got.Seq, len(got.Supports))
	}
	if !strings.Contains(s.log.String(), "events were stored, their figures failed") {
		t.Error("the failure is not in the log")
	}
	broken.Store(false)
	if p := c.state(job); p.Seq != 1 || len(p.Supports) != 2 {
		t.Errorf("afterwards the state has %d events and %d supports, want 1 and 2", p.Seq, len(p.Supports))
	}
}

// An answer that got lost after the commit is found again by the repeat.
func TestAppendUnknownOutcome(t *testing.T) {
	var cut atomic.Bool
	log := eventstest.NewMemLog()
	log.After = func(method string) error {
		if cut.Load() && method == "append" {
			return events.ErrUnavailable
		}
		return nil
	}
	c := newSite(t, func(c *server.Config) { c.Log = log }).firm("Level Best")
	job := c.newJob()
	raw := newDevice(t, job).raw("plan", smallPlan)
	cut.Store(true)
	c.send("POST", "/jobs/"+job.String()+"/events", batch(raw)).problem(t, 503, "")
	cut.Store(false)
	var got taken
	c.send("POST", "/jobs/"+job.String()+"/events", batch(raw)).want(t, 200, &got)
	if r := got.Results[0]; r.Outcome != events.WasRepeated || r.Seq != 1 {
		t.Errorf("%+v, want a repeat of 1", r)
	}
	if p := c.state(job); len(p.Supports) != 2 {
		t.Errorf("the state has %d supports, want 2", len(p.Supports))
	}
}

// A crash between the creation of a job and that of its log is made up for.
func TestAppendToJobWithoutLog(t *testing.T) {
	var broken atomic.Bool // the server works behind its answers too
	log := eventstest.NewMemLog()
	log.Before = func(method string) error {
		if broken.Load() && method == "create" {
			return errors.New("crash")
		}
		return nil
	}
	c := newSite(t, func(c *server.Config) { c.Log = log }).firm("Level Best")
	id := newID(t)
	broken.Store(true)
	c.send("POST", "/jobs", []byte(fmt.Sprintf(`{"id":"%s","name":"14 Wattle Street","zone":"UTC"}`, id))).problem(t, 500, "")
	broken.Store(false)
	c.post(id, newDevice(t, id).raw("note", `{"text":"here"}`))
}

// Several phones and two servers: each sees what the other took.
func TestTwoServers(t *testing.T) {
	s := newSite(t)
	c := s.firm("Level Best")
	other := c.at(newSiteOn(t, s.db))
	job := c.newJob()
	plan := newDevice(t, job)
	plan.at = plan.at.Add(-24 * 60 * 60e9)
	c.post(job, plan.raw("plan", smallPlan))
	var wg sync.WaitGroup
	for i := range 4 {
		d, at := newDevice(t, job), []*caller{c, other}[i%2]
		wg.Go(func() {
			for range 10 {
				at.post(job, d.raw("note", `{"text":"below"}`))
			}
		})
	}
	wg.Wait()
	one, two := c.state(job), other.state(job)
	if one.Seq != 41 {
		t.Errorf("seq = %d, want 41", one.Seq)
	}
	if diff := cmp.Diff(one, two); diff != "" {
		t.Errorf("the servers differ:\n%s", diff)
	}
}

// A cache of one state serves many jobs, one after the other.
func TestStatesForgotten(t *testing.T) {
	c := newSite(t, func(c *server.Config) { c.Limits.States = 1 }).firm("Level Best")
	var all []events.ID
	for range 3 {
		job := c.newJob()
		c.post(job, newDevice(t, job).raw("plan", smallPlan))
		all = append(all, job)
	}
	for _, job := range all {
		var p jobs.Picture
		c.get("/jobs/"+job.String()+"/state", &p)
		if p.Job != job || len(p.Supports) != 2 {
			t.Errorf("job %s is answered as %s with %d supports", job, p.Job, len(p.Supports))
		}
	}
}
