package server_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb/pgtest"
	"relevel/jobs"
	"relevel/server"
)

// quarantined is what the office sees of what was kept apart.
type quarantined struct {
	Job     events.ID `json:"job"`
	EventID events.ID `json:"event_id"`
	Reason  string    `json:"reason"`
	Bytes   []byte    `json:"bytes"`
}

func (c *caller) quarantine() []quarantined {
	c.t.Helper()
	var got struct{ Quarantine []quarantined }
	c.get("/quarantine", &got)
	return got.Quarantine
}

// wantKeptApart checks that one thing is in quarantine, byte by byte.
func wantKeptApart(t *testing.T, c *caller, raw, reason string) {
	t.Helper()
	kept := c.quarantine()
	if len(kept) != 1 || string(kept[0].Bytes) != raw || !strings.Contains(kept[0].Reason, reason) {
		t.Errorf("quarantine = %+v, want %q because of %q", kept, raw, reason)
	}
}

func TestMalformedJSON(t *testing.T) {
	c := newSite(t).firm("Level Best")
	path := "/jobs/" + c.newJob().String() + "/events"
	c.send("POST", path, []byte(`{"events":[{"id":`)).problem(t, 400, "")
	wantKeptApart(t, c, `{"events":[{"id":`, "not a list of events")
	// The same once more is kept once.
	c.send("POST", path, []byte(`{"events":[{"id":`)).problem(t, 400, "")
	wantKeptApart(t, c, `{"events":[{"id":`, "not a list of events")
}

func TestNotAListOfEvents(t *testing.T) {
	for name, body := range map[string]string{
		"Number": `{"events":5}`, "Missing": `{}`, "Null": `{"events":null}`, "None": `{"events":[]}`,
		"Array": `[]`,
	} {
		t.Run(name, func(t *testing.T) {
			c := newSite(t).firm("Level Best")
			c.send("POST", "/jobs/"+c.newJob().String()+"/events", []byte(body)).problem(t, 422, "events")
		})
	}
}

// One unreadable envelope among readable ones costs nobody else anything.
func TestUnreadableEnvelope(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	id, good := d.event("note", `{"text":"dry below"}`)
	for name, bad := range map[string]struct{ raw, field string }{
		"NotAnObject": {`"a string"`, "event"},
		"NoID":        {`{"job":"` + job.String() + `"}`, "id"},
		"BadTime":     {strings.Replace(good, `"at":"2`, `"at":"x2`, 1), "at"},
		"Array":       {`[1,2]`, "event"},
	} {
		t.Run(name, func(t *testing.T) {
			var got taken
			c.send("POST", "/jobs/"+job.String()+"/events", batch(bad.raw, good)).want(t, 200, &got)
			if r := got.Results[0]; r.Outcome != events.WasQuarantined || !strings.HasPrefix(r.Reason, bad.field) || r.Seq != 0 {
				t.Errorf("the bad one: %+v, want it quarantined for its %s", r, bad.field)
			}
			if r := got.Results[1]; r.ID != id || r.Seq != 1 {
				t.Errorf("the good one: %+v, want it stored under 1", r)
			}
			if kept := c.quarantine(); string(kept[0].Bytes) != bad.raw {
				t.Errorf("kept %q, want %q", kept[0].Bytes, bad.raw)
			}
		})
	}
	if p := c.state(job); p.Seq != 1 {
		t.Errorf("the job has %d events, want 1", p.Seq)
	}
}

func TestUnknownKind(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	newer := strings.Replace(d.raw("note", `{"text":"from version 2"}`), `"v":1`, `"v":2`, 1)
	c.post(job, d.raw("hologram", `{"shape":"cube"}`), newer)
	if p := c.state(job); p.Newer != 2 || p.Seq != 2 {
		t.Errorf("newer = %d of %d events, want both stored and counted", p.Newer, p.Seq)
	}
	var book struct{ Events []struct{ Line jobs.Line } }
	c.get("/jobs/"+job.String()+"/events", &book)
	for _, e := range book.Events {
		if !strings.Contains(e.Line.Text+e.Line.Aside, "newer app needed") {
			t.Errorf("the book says %+v, want that a newer app is needed", e.Line)
		}
	}
}

// A reading at an unknown support is a fact that does not count yet. It counts
// once a plan knows the support, whether that comes later or was made earlier.
func TestAgainstThePlan(t *testing.T) {
	for name, planFirst := range map[string]bool{"LatePlan": false, "EarlyPlanSentLate": true} {
		t.Run(name, func(t *testing.T) {
			c := newSite(t).firm("Level Best")
			job := c.newJob()
			office, phone := newDevice(t, job), newDevice(t, job)
			office.at = phone.at.Add(10 * time.Minute)
			if planFirst {
				office.at = phone.at.Add(-10 * time.Minute)
			}
			setup, opened := phone.setup()
			c.post(job, opened, phone.reading(setup, "B1-2", 1017))
			if p := c.state(job); len(p.SetAside) != 2 || !strings.Contains(p.SetAside[1].Reason, "B1-2") {
				t.Errorf("set aside = %+v, want the set-up and the reading at B1-2, with the reason", p.SetAside)
			}
			got := c.post(job, office.raw("plan", smallPlan))
			p := c.state(job)
			s, _ := p.Support("B1-2")
			if len(p.SetAside) != 0 || s.Present == nil || s.Present.MM != -17 {
				t.Errorf("after the plan: set aside %+v, B1-2 at %+v; want nothing and −17", p.SetAside, s.Present)
			}
			if diff := cmp.Diff(p.Supports, got.Supports); diff != "" {
				t.Errorf("the answer to the plan differs from the state (-state +answer):\n%s", diff)
			}
		})
	}
}

func TestBodyThatMakesNoSense(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	setup, opened := d.setup()
	c.post(job, d.raw("plan", smallPlan), opened)
	read := func(staff string) string {
		return fmt.Sprintf(`{"setup":"%s","point":"B1-1","face":"floor","staff":%s}`, setup, staff)
	}
	for name, body := range map[string]string{
		"OverFiveMetres": read("5001"),
		"Absurd":         read("1e300"),
		"AbsurdUnit":     read(`{"value":17,"unit":"ft"}`),
		"NaNAsText":      read(`"NaN"`),
		"NoUnit":         read(`{"value":17,"unit":"ell"}`),
		"Null":           read("null"),
		"TooLarge":       read("1e400"),
		"NoFace":         `{"setup":"` + setup.String() + `","point":"B1-1","staff":17}`,
		"NUL":            `{"setup":"` + setup.String() + `","point":"B1-1\u0000","face":"floor","staff":17}`,
		"Deep":           `{"setup":` + strings.Repeat(`[`, 5000) + strings.Repeat(`]`, 5000) + `}`,
	} {
		t.Run(name, func(t *testing.T) {
			id, raw := d.event("reading", body)
			c.post(job, raw)
			p := c.state(job)
			aside := p.SetAside[len(p.SetAside)-1]
			if aside.ID != id || aside.Reason == "" {
				t.Errorf("set aside last: %+v, want the reading with a reason", aside)
			}
			if s, _ := p.Support("B1-1"); s.Present != nil {
				t.Errorf("B1-1 is at %+v, want no height", s.Present)
			}
		})
	}
}

// NaN is no JSON, so the whole body is none.
func TestNaN(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	c.send("POST", "/jobs/"+job.String()+"/events", batch(newDevice(t, job).raw("jack-down", `{"support":NaN}`))).problem(t, 400, "")
}

func TestSameIDOtherBytes(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	id, first := d.event("note", `{"text":"dry below"}`)
	other := strings.Replace(first, "dry", "wet", 1)
	c.post(job, first)
	var got taken
	c.send("POST", "/jobs/"+job.String()+"/events", batch(other, first)).want(t, 200, &got)
	if r := got.Results[0]; r.ID != id || r.Outcome != events.WasQuarantined || r.Reason == "" {
		t.Errorf("other bytes: %+v, want them quarantined with the reason", r)
	}
	if r := got.Results[1]; r.Outcome != events.WasRepeated || r.Seq != 1 {
		t.Errorf("the same bytes: %+v, want a repeat of 1", r)
	}
	if kept := c.quarantine(); len(kept) != 1 || string(kept[0].Bytes) != other {
		t.Errorf("quarantine = %+v, want the other bytes", kept)
	}
	var book struct{ Events []struct{ Bytes []byte } }
	c.get("/jobs/"+job.String()+"/events?exact=1", &book)
	if len(book.Events) != 1 || string(book.Events[0].Bytes) != first {
		t.Errorf("the log holds %q, want the first version as it was", book.Events)
	}
}

// Spaces, the order of fields and doubled fields stay as they came.
func TestExactBytesKept(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	raw := strings.Replace(newDevice(t, job).raw("note", `{ "text" : "a<b\u00e9",	"text":"a<b" }`), `"v":1`, `"v": 1,"extra":{"b":1,"a":2}`, 1)
	c.post(job, raw)
	var book struct{ Events []struct{ Bytes []byte } }
	c.get("/jobs/"+job.String()+"/events?exact=1", &book)
	if string(book.Events[0].Bytes) != raw {
		t.Errorf("kept %q, want %q", book.Events[0].Bytes, raw)
	}
}

func TestClockDaysOff(t *testing.T) {
	for name, off := range map[string]time.Duration{"Ahead": 72 * time.Hour, "Behind": -72 * time.Hour} {
		t.Run(name, func(t *testing.T) {
			c := newSite(t).firm("Level Best")
			job := c.newJob()
			d := newDevice(t, job)
			d.at = d.at.Add(off)
			id, raw := d.event("note", `{"text":"what day is it"}`)
			c.post(job, raw)
			p := c.state(job)
			if len(p.Flags) != 1 || p.Flags[0].ID != id || !strings.Contains(p.Flags[0].Text, "clock") {
				t.Errorf("flags = %+v, want one about the clock", p.Flags)
			}
		})
	}
}

func TestAnotherFirmsJob(t *testing.T) {
	s := newSite(t)
	ours, theirs := s.firm("Level Best"), s.firm("Plumb & Sons")
	job := theirs.newJob()
	raw := newDevice(t, job).raw("note", `{"text":"not mine"}`)
	other := ours.send("POST", "/jobs/"+job.String()+"/events", batch(raw)).problem(t, 404, "")
	nobodys := newDevice(t, newID(t))
	nobody := ours.send("POST", "/jobs/"+nobodys.job.String()+"/events", batch(nobodys.raw("note", `{}`))).problem(t, 404, "")
	other.RequestID, nobody.RequestID = "", ""
	if diff := cmp.Diff(other, nobody); diff != "" {
		t.Errorf("another firm's job and nobody's are answered differently:\n%s", diff)
	}
	if kept := ours.quarantine(); len(kept) != 2 || string(kept[1].Bytes) != raw || kept[1].Job != job {
		t.Errorf("our quarantine = %+v, want both events", kept)
	}
	if kept := theirs.quarantine(); len(kept) != 0 {
		t.Errorf("their quarantine = %+v, want nothing", kept)
	}
	if p := theirs.state(job); p.Seq != 0 {
		t.Errorf("their job has %d events, want none", p.Seq)
	}
}

func TestEventForAnotherJob(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job, elsewhere := c.newJob(), c.newJob()
	raw := newDevice(t, elsewhere).raw("note", `{}`)
	var got taken
	c.send("POST", "/jobs/"+job.String()+"/events", batch(raw)).want(t, 200, &got)
	if r := got.Results[0]; r.Outcome != events.WasQuarantined || !strings.HasPrefix(r.Reason, "job:") {
		t.Errorf("%+v, want it quarantined for its job", r)
	}
	wantKeptApart(t, c, raw, "job")
}

func TestBatchTooLarge(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	path := "/jobs/" + job.String() + "/events"
	var many []string
	for range events.MaxBatchEvents + 1 {
		many = append(many, d.raw("note", `{}`))
	}
	c.send("POST", path, batch(many...)).problem(t, 413, "")
	long := d.raw("note", `{"text":"`+strings.Repeat("x", events.MaxBatchBytes)+`"}`)
	c.send("POST", path, batch(long)).problem(t, 413, "")
	c.send("POST", path, bytes.Repeat([]byte("x"), 2*events.MaxBatchBytes)).problem(t, 413, "")
	if p := c.state(job); p.Seq != 0 {
		t.Errorf("the job has %d events, want none", p.Seq)
	}
	c.post(job, many[:events.MaxBatchEvents]...)
}

func TestBadPhotos(t *testing.T) {
	s := newSite(t)
	c := s.firm("Level Best")
	jpeg := smallJPEG(t)
	name := sha(jpeg)
	long := bytes.Repeat([]byte{0xff}, events.MaxPhotoBytes+1)
	for what, test := range map[string]struct {
		name, media string
		body        []byte
		status      int
		field       string
	}{
		"WrongDigest":  {sha([]byte("another")), "image/jpeg", jpeg, 422, "sha256"},
		"NoDigest":     {"abc", "image/jpeg", jpeg, 422, "sha256"},
		"WrongType":    {name, "image/png", jpeg, 422, "media_type"},
		"UnknownType":  {name, "image/svg+xml", jpeg, 422, "media_type"},
		"NoType":       {name, "", jpeg, 422, "media_type"},
		"Empty":        {sha(nil), "image/jpeg", nil, 422, "bytes"},
		"TooLarge":     {sha(long), "image/jpeg", long, 413, ""},
		"PhotoAsSound": {name + "?type=sound", "image/jpeg", jpeg, 422, "type"},
	} {
		t.Run(what, func(t *testing.T) {
			c.send("PUT", "/photos/"+test.name, test.body, "Content-Type", test.media).problem(t, test.status, test.field)
		})
	}
	c.send("GET", "/photos/"+name+"/state", nil).problem(t, 404, "")
	c.send("GET", "/photos/"+name, nil).problem(t, 404, "")
}

// A body whose length is not said in advance is measured all the same.
func TestPhotoTooLargeUnannounced(t *testing.T) {
	c := newSite(t).firm("Level Best")
	long := bytes.Repeat([]byte{0xff}, events.MaxPhotoBytes+1)
	r, err := c.request(t.Context(), "PUT", "/photos/"+sha(long), nil, "Content-Type", "image/jpeg")
	must(t, err)
	r.Body, r.ContentLength = io.NopCloser(bytes.NewReader(long)), -1
	resp, err := http.DefaultClient.Do(r)
	must(t, err)
	defer resp.Body.Close()
	if resp.StatusCode != 413 {
		t.Errorf("status %d, want 413", resp.StatusCode)
	}
}

func sha(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

func TestPostgresAway(t *testing.T) {
	db := pgtest.Own(t)
	s := newSiteOn(t, db)
	c := s.firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	c.post(job, d.raw("note", `{"text":"before"}`))
	must(t, db.Server.Stop())

	raw := d.raw("note", `{"text":"while it was away"}`)
	a := c.send("POST", "/jobs/"+job.String()+"/events", batch(raw))
	p := a.problem(t, 503, "")
	if a.header.Get("Retry-After") == "" || !strings.Contains(p.Detail, "send it again") {
		t.Errorf("Retry-After %q, detail %q; want when and what to do", a.header.Get("Retry-After"), p.Detail)
	}
	if bytes.Contains(a.body, []byte("stored")) {
		t.Errorf("something is acknowledged: %s", a.body)
	}
	c.send("GET", "/jobs/"+job.String()+"/state", nil).problem(t, 503, "")
	c.send("POST", "/jobs/"+job.String()+"/events", []byte("not json")).problem(t, 503, "") // or it would vanish
	resp, err := http.Get(s.URL + "/readyz")
	must(t, err)
	resp.Body.Close()
	if resp.StatusCode != 503 || resp.Header.Get("Retry-After") == "" {
		t.Errorf("readyz answers %d, want 503 with Retry-After", resp.StatusCode)
	}
}

func TestObjectsAway(t *testing.T) {
	away := &eventstest.MemObjects{Before: func(string) error { return events.ErrUnavailable }}
	s := newSite(t, func(c *server.Config) { c.Photos.Objects = away })
	c := s.firm("Level Best")
	job := c.newJob()
	jpeg := smallJPEG(t)
	a := c.send("PUT", "/photos/"+sha(jpeg), jpeg, "Content-Type", "image/jpeg")
	a.problem(t, 503, "")
	if a.header.Get("Retry-After") == "" {
		t.Error("no Retry-After")
	}
	d := newDevice(t, job)
	withPhoto := strings.Replace(d.raw("note", `{"text":"a crack"}`), `"body"`,
		fmt.Sprintf(`"files":[{"type":"photo","sha256":"%s","bytes":%d,"media_type":"image/jpeg"}],"body"`, sha(jpeg), len(jpeg)), 1)
	c.post(job, withPhoto)
	var kept struct{ State events.FileState }
	c.get("/photos/"+sha(jpeg)+"/state", &kept)
	if kept.State != events.FileReceived {
		t.Errorf("the photo is %s, want it received and waiting", kept.State)
	}

	away.Before = nil
	c.send("PUT", "/photos/"+sha(jpeg), jpeg, "Content-Type", "image/jpeg").want(t, 200, &kept)
	if kept.State != events.FileStored {
		t.Errorf("sent again the photo is %s, want it stored", kept.State)
	}
}
