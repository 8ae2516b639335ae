package server_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

// bookPage is a page of the book as a program reads it.
type bookPage struct {
	Events []struct {
		Seq   int64
		Leaf  events.Hash
		Event json.RawMessage
		Line  jobs.Line
		Bytes []byte
		Salt  []byte
	}
	Seq int64
}

func TestEventsOK(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	raws := []string{d.raw("plan", smallPlan)}
	setup, opened := d.setup()
	raws = append(raws, opened, d.reading(setup, "B1-1", 1010))
	c.post(job, raws...)
	path := "/jobs/" + job.String() + "/events"

	var page bookPage
	c.get(path+"?after=1&limit=1", &page)
	if len(page.Events) != 1 || page.Events[0].Seq != 2 || page.Seq != 3 {
		t.Errorf("%d events from %+v of %d, want the second of 3", len(page.Events), page.Events, page.Seq)
	}
	c.get(path+"?after=2", &page)
	line := page.Events[0].Line
	if line.Height == nil || *line.Height != -10 || line.Staff == nil || *line.Staff != 1010 {
		t.Errorf("the line of the reading is %s, want 1010 reduced to −10", mustJSON(t, line))
	}
	if page.Events[0].Bytes != nil || page.Events[0].Salt != nil {
		t.Error("exact bytes without being asked for")
	}
	c.get(path+"?after=3", &page)
	if len(page.Events) != 0 {
		t.Errorf("%d events after the last", len(page.Events))
	}
}

// With the exact bytes and the salt anybody can work out the leaf.
func TestEventsExact(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	raw := newDevice(t, job).raw("note", `{"text":"dry below"}`)
	got := c.post(job, raw)
	var page struct {
		Events []struct {
			events.Stored
			RecordedAt json.RawMessage `json:"recorded_at"`
			Bytes      []byte          `json:"bytes"`
			Salt       []byte          `json:"salt"`
			Leaf       events.Hash     `json:"leaf"`
			Event      json.RawMessage `json:"event"`
		}
	}
	c.get("/jobs/"+job.String()+"/events?exact=1", &page)
	e := page.Events[0]
	if string(e.Bytes) != raw {
		t.Errorf("bytes = %s, want %s", e.Bytes, raw)
	}
	leaf := events.Leaf{Firm: c.firm, Job: job, Seq: 1, ID: got.Results[0].ID, Kind: events.KindNote, Commitment: events.Commit(e.Salt, e.Bytes)}
	must(t, json.Unmarshal(e.RecordedAt, &leaf.RecordedAt))
	if leaf.Hash() != e.Leaf {
		t.Errorf("the leaf is %v, worked out %v", e.Leaf, leaf.Hash())
	}
	// The root of a tree of one leaf is the leaf.
	if got.Root != e.Leaf {
		t.Errorf("the root is %v, want the leaf", got.Root)
	}
}

func TestEventsBadQuery(t *testing.T) {
	c := newSite(t).firm("Level Best")
	path := "/jobs/" + c.newJob().String() + "/events"
	for query, field := range map[string]string{
		"?after=-1": "after", "?after=x": "after", "?after=": "after",
		"?limit=0": "limit", "?limit=1001": "limit", "?limit=1e3": "limit",
	} {
		c.send("GET", path+query, nil).problem(t, 422, field)
	}
}

// as_of is what was known when the log had so many events.
func TestStateAsOf(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	c.post(job, d.raw("plan", smallPlan))
	setup, opened := d.setup()
	c.post(job, opened, d.reading(setup, "B1-1", 1010))
	then := c.state(job)
	c.post(job, d.raw("jacking", `{"moves":[{"support":"B1-1","by":5,"gauge":"rule"}]}`))

	var got jobs.Picture
	c.get(fmt.Sprintf("/jobs/%s/state?as_of=%d", job, then.Seq), &got)
	if diff := cmp.Diff(then, got); diff != "" {
		t.Errorf("as of %d (-then +now):\n%s", then.Seq, diff)
	}
	var empty jobs.Picture
	c.get("/jobs/"+job.String()+"/state?as_of=0", &empty)
	if empty.Seq != 0 || len(empty.Supports) != 0 {
		t.Errorf("as of 0: %d supports at %d, want nothing yet", len(empty.Supports), empty.Seq)
	}
}

func TestStateBadAsOf(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	c.post(job, newDevice(t, job).raw("note", `{}`))
	for _, bad := range []string{"2", "-1", "x", "", "1.5", "9999999999999999999"} {
		c.send("GET", "/jobs/"+job.String()+"/state?as_of="+bad, nil).problem(t, 422, "as_of")
	}
}
