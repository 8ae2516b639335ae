package server_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/jobs"
	"relevel/server"
)

// A phone gets all that it wants beside events in one answer, in the shapes that
// the lists have, and nothing of another firm.
func TestPhoneCarries(t *testing.T) {
	s := newSite(t)
	c, stranger := s.firm("Level Best"), s.firm("Plumb & Sons")
	job := c.newJob()
	c.post(job, newDevice(t, job).raw("plan", smallPlan))
	c.send("POST", "/people", []byte(`{"name":"Mere Kohu","role":"site-lead"}`)).want(t, 201, nil)
	c.send("POST", "/crews", []byte(`{"name":"North"}`)).want(t, 201, nil)
	c.send("POST", "/jacks", []byte(`{"name":"bottle 1","rated_kn":50}`)).want(t, 201, nil)
	c.send("POST", "/lasers", []byte(`{"name":"green"}`)).want(t, 201, nil)
	c.send("POST", "/practice", []byte(`{"step_mm":3.25}`)).want(t, 201, nil)
	c.send("POST", "/profiles", []byte(`{"name":"ours","title":"Ours","limits":[{"kind":"range","limit_mm":20}]}`)).want(t, 201, nil)

	var got map[string]any
	for until := time.Now().Add(10 * time.Second); ; time.Sleep(20 * time.Millisecond) { // a job's number comes behind its events
		c.get("/phone?device="+newID(t).String(), &got)
		if jobs := got["jobs"].([]any); len(jobs) == 1 && jobs[0].(map[string]any)["seq"] == 1.0 || time.Now().After(until) {
			break
		}
	}
	want := map[string]any{}
	for _, path := range []string{"/people", "/crews", "/jobs", "/jacks", "/lasers", "/profiles"} {
		var list map[string]any
		c.get(path, &list)
		for name, v := range list {
			want[name] = v
		}
	}
	var practice any
	c.get("/practice", &practice)
	want["practice"] = practice
	want["people"].([]any)[0].(map[string]any)["initials"] = "MK"
	delete(want["jobs"].([]any)[0].(map[string]any), "brief")
	want["firm"] = map[string]any{"id": c.firm.String(), "name": "Level Best", "region": "AU", "units": "mm", "words": map[string]any{
		"support": "stump", "bearer": "bearer", "packer": "packer", "blocking": "pigsty", "staff": "staff", "datum": "datum",
		"under": "under the floor", "inspector": "building surveyor", "change": "variation", "come_back": "defects period",
	}}
	var sayings any
	text, err := json.Marshal(jobs.Australia.Words().Sayings())
	must(t, err)
	must(t, json.Unmarshal(text, &sayings))
	want["firm"].(map[string]any)["sayings"] = sayings
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-the lists +the phone's):\n%s", diff)
	}
	if a := stranger.send("GET", "/phone", nil).want(t, 200, nil); strings.Contains(string(a.body), "Mere") || strings.Contains(string(a.body), job.String()) || strings.Contains(string(a.body), "null") {
		t.Errorf("a stranger's phone carries %s", a.body)
	}
	c.send("GET", "/phone?device=mine", nil).problem(t, 422, "device")
}

// What a phone has already is not sent again until something of it changes.
func TestPhoneUnchanged(t *testing.T) {
	c := newSite(t).firm("Level Best")
	a := c.send("GET", "/phone", nil).want(t, 200, nil)
	tag := a.header.Get("ETag")
	wantHeader(t, a, "Cache-Control", "no-store") // the phone keeps it, no cache does
	if again := c.send("GET", "/phone", nil, "If-None-Match", tag).want(t, http.StatusNotModified, nil); len(again.body) != 0 || again.header.Get("Relevel-Time") == "" {
		t.Errorf("%q %v", again.body, again.header)
	}
	c.send("POST", "/crews", []byte(`{"name":"North"}`)).want(t, 201, nil)
	if a := c.send("GET", "/phone", nil, "If-None-Match", tag).want(t, 200, nil); a.header.Get("ETag") == tag {
		t.Error("another crew, and the same tag")
	}
}

// Every answer of the API says what the server's clock says, errors too.
func TestRelevelTime(t *testing.T) {
	now := time.Date(2026, 1, 2, 14, 4, 5, 678e6, time.FixedZone("", 11*3600))
	s := newSite(t, func(c *server.Config) { c.Now = func() time.Time { return now } })
	c := s.firm("Level Best")
	for path, status := range map[string]int{"/jobs": 200, "/nothing": 404, "/phone?device=x": 422} {
		wantHeader(t, c.send("GET", path, nil).want(t, status, nil), "Relevel-Time", "2026-01-02T03:04:05.678Z")
	}
	wantHeader(t, c.send("DELETE", "/jobs", nil).want(t, 405, nil), "Relevel-Time", "2026-01-02T03:04:05.678Z")
	wantHeader(t, c.send("GET", "/jobs", nil, "Authorization", "").want(t, 401, nil), "Relevel-Time", "2026-01-02T03:04:05.678Z")
	wantHeader(t, s.do("GET", "/healthz"), "Relevel-Time", "")
	_, end := c.listen("/live")
	end()
}

// The time is that at which an answer begins, however long its batch was in coming.
func TestRelevelTimeAfterASlowBatch(t *testing.T) {
	c := newSite(t).firm("Level Best")
	r, err := c.request(t.Context(), "POST", "/jobs/"+newID(t).String()+"/events", nil)
	must(t, err)
	const slow = 300 * time.Millisecond
	r.Body, r.ContentLength = &late{after: slow}, 1
	began := time.Now()
	resp, err := http.DefaultClient.Do(r)
	must(t, err)
	resp.Body.Close()
	at, err := time.Parse(time.RFC3339Nano, resp.Header.Get("Relevel-Time"))
	must(t, err)
	if at.Before(began.Add(slow).Truncate(time.Millisecond)) || at.After(time.Now()) {
		t.Errorf("%v after the request began, want at least %v", at.Sub(began), slow)
	}
}

// late is a body of one byte that comes after a while.
type late struct {
	after time.Duration
	dawdle
}

func (l *late) Read(b []byte) (int, error) {
	time.Sleep(l.after)
	b[0] = '{'
	return 1, nil
}
