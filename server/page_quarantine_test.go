package server_test

import (
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"relevel/events"
)

// lost sends an event for a job that the firm does not have, and returns its key
// in the quarantine.
func (b *browser) lost(d *device, kind, body string) (key string) {
	b.t.Helper()
	gone := *d
	gone.job = newID(b.t)
	id, raw := gone.event(kind, body)
	d.seq = gone.seq
	b.caller.send("POST", "/jobs/"+gone.job.String()+"/events", batch(raw)).problem(b.t, 404, "")
	var got struct {
		Quarantine []struct {
			Key, Reason string
			EventID     events.ID `json:"event_id"`
		}
	}
	b.caller.get("/quarantine", &got)
	for _, q := range got.Quarantine { // those of one millisecond stand in any order
		if q.EventID == id && q.Reason == "this firm has no such job" {
			return q.Key
		}
	}
	b.t.Fatalf("%+v", got.Quarantine)
	return ""
}

// decide sends the form of the page of one thing that was kept apart.
func (b *browser) decide(key, what string, fill url.Values) (int, string) {
	b.t.Helper()
	form := url.Values{"n": {"1"}, "what": {what}, "recorder": {b.person.String()}}
	for name, values := range fill {
		form[name] = values
	}
	status, body, _ := b.post("/quarantine/"+key+"/decide", form)
	return status, body
}

func has(t *testing.T, what, body string, parts ...string) {
	t.Helper()
	for _, part := range parts {
		if !strings.Contains(body, part) {
			t.Errorf("%s lacks %q: %s", what, part, body)
		}
	}
}

// What was meant for another job is taken in as a new event that says where it
// comes from, once, whoever presses twice.
func TestApartTakenIn(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	d.by = b.person
	key := b.lost(d, "finding", `{"what":"wet rot","where":"under the bath","supports":["B1-2"]}`)
	has(t, "the list", b.get("/quarantine"), "Finding", "Mere Kohu", "This firm has no such job", "/quarantine/"+key)
	has(t, "the page", b.get("/quarantine/"+key), "B1-2: wet rot", "under the bath", "one that the firm does not have", "14 Wattle Street", "Take it in")

	status, body := b.decide(key, "accepted", nil)
	if status != 422 {
		t.Errorf("without a job: status %d", status)
	}
	has(t, "without a job", body, "which of the firm’s jobs it belongs to")
	if status, body := b.decide(key, "accepted", url.Values{"job": {b.job.String()}, "recorder": {""}}); status != 422 || !strings.Contains(body, "who decides this") {
		t.Errorf("by nobody: status %d: %s", status, body)
	}
	for range 2 {
		if status, body := b.decide(key, "accepted", url.Values{"job": {b.job.String()}}); status != 200 {
			t.Fatalf("taken in: status %d: %s", status, body)
		}
	}
	has(t, "the page after", b.get("/quarantine/"+key), "Taken in to 14 Wattle Street", "Reopen")
	has(t, "the list after", b.get("/quarantine"), "Nothing waits", "Decided before")
	p := b.caller.state(b.job)
	if len(p.Lists.Findings) != 1 || p.Lists.Findings[0].By != b.person || p.Lists.Findings[0].At.Unix() != d.at.Add(1e9).Unix() {
		t.Errorf("findings %+v, want the one, by who recorded it, when that was", p.Lists.Findings)
	}
	has(t, "the book", b.get(b.page("/book")), "taken in by the office from what was kept apart")
}

// What does not fit is corrected on its own form, filled in with what it says.
func TestApartCorrected(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	d.by = b.person
	key := b.lost(d, "packing", `{"support":"B1-1","sort":"final","gap":{"value":1.5,"unit":"in"},"pieces":[{"thickness":{"value":-1,"unit":"in"},"material":"hardwood"}],"full_width":true}`)
	body := b.get("/quarantine/" + key)
	has(t, "the page", body, "It cannot be taken in as it is", "Correct it")
	if strings.Contains(body, ">Take it in<") {
		t.Error("what does not fit can be taken in as it is")
	}
	if status, body := b.decide(key, "accepted", url.Values{"job": {b.job.String()}}); status != 422 {
		t.Errorf("taken in as it is: status %d: %s", status, body)
	}
	r, err := http.NewRequestWithContext(t.Context(), "GET", b.site.URL+"/quarantine/"+key+"/correct?job="+b.job.String(), nil)
	must(t, err)
	status, body, at := b.do(r)
	if status != 200 || at.Path != b.page("/record/packing") {
		t.Fatalf("status %d at %s", status, at)
	}
	has(t, "the form", body, "It did not fit: this firm has no such job", `value="1.5"`, `value="-1"`, "hardwood", `value="in" selected`)
	form := hidden(body)
	form.Set("recorder", b.person.String())
	for name, v := range map[string]string{"support": "B1-1", "sort": "final", "gap": "1.5", "unit": "in", "pieces[0].thickness": "1", "pieces[0].material": "hardwood", "full_width": "yes"} {
		form.Set(name, v)
	}
	status, body, at = b.post(at.Path, form)
	if status != 200 || !at.Query().Has("saved") {
		t.Fatalf("status %d at %s: %s", status, at, body)
	}
	has(t, "the page after", b.get("/quarantine/"+key), "Taken in with a change to 14 Wattle Street")
	if s, _ := b.caller.state(b.job).Support("B1-1"); s.Packer == nil {
		t.Error("the packer is not in the job")
	}
}

// Setting aside wants a reason; it is reopened with one, and all of that stays.
func TestApartSetAside(t *testing.T) {
	b := newBrowser(t, newSite(t))
	key := b.lost(newDevice(t, b.job), "note", `{"text":"<b>testing</b>"}`)
	has(t, "the page", b.get("/quarantine/"+key), "&lt;b&gt;testing&lt;/b&gt;")
	if status, body := b.decide(key, "set-aside", url.Values{"why": {" "}}); status != 422 || !strings.Contains(body, "the reason, for whoever looks at it later") {
		t.Errorf("without a reason: status %d: %s", status, body)
	}
	if status, body := b.decide(key, "set-aside", url.Values{"why": {"a try"}}); status != 200 {
		t.Fatalf("status %d: %s", status, body)
	}
	if status, body := b.decide(key, "set-aside", url.Values{"why": {"another try"}}); status != 409 || !strings.Contains(body, "Somebody else decided") {
		t.Errorf("too late: status %d: %s", status, body)
	}
	if status, _ := b.decide(key, "accepted", url.Values{"n": {"2"}, "job": {b.job.String()}}); status != 422 {
		t.Errorf("taken in while it is set aside: status %d", status)
	}
	if status, _ := b.decide(key, "reopened", url.Values{"n": {"2"}, "why": {"it was none"}}); status != 200 {
		t.Errorf("reopened: status %d", status)
	}
	has(t, "the page after", b.get("/quarantine/"+key), "Set aside: a try", "Reopened: it was none", "Take it in")
	has(t, "the list after", b.get("/quarantine"), "Reopened by Mere Kohu")
}

// The bytes come as they came, and no browser makes anything of them. Another
// firm finds nothing.
func TestApartBytes(t *testing.T) {
	s := newSite(t)
	b, other := newBrowser(t, s), newBrowser(t, s)
	const sent = `<script>alert(1)</script>`
	b.caller.send("POST", "/jobs/"+b.job.String()+"/events", []byte(sent)).problem(t, 400, "")
	var got struct{ Quarantine []struct{ Key string } }
	b.caller.get("/quarantine", &got)
	key := got.Quarantine[0].Key
	has(t, "the page", b.get("/quarantine/"+key), "Something unreadable", "&lt;script&gt;")
	r, err := http.NewRequestWithContext(t.Context(), "GET", s.URL+"/quarantine/"+key+"/bytes", nil)
	must(t, err)
	resp, err := b.client.Do(r)
	must(t, err)
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil || string(text) != sent || resp.Header.Get("Content-Type") != "application/octet-stream" || !strings.HasPrefix(resp.Header.Get("Content-Disposition"), "attachment") {
		t.Errorf("%q with %v, %v", text, resp.Header, err)
	}
	for _, path := range []string{"/quarantine/" + key, "/quarantine/" + key + "/bytes", "/quarantine/nothing"} {
		r, err := http.NewRequestWithContext(t.Context(), "GET", s.URL+path, nil)
		must(t, err)
		if status, body, _ := other.do(r); status != 404 {
			t.Errorf("%s of another firm: status %d: %s", path, status, body)
		}
	}
}

// Over the API: what waits, what is settled, and a decision.
func TestQuarantineDecisions(t *testing.T) {
	b := newBrowser(t, newSite(t))
	key := b.lost(newDevice(t, b.job), "note", `{"text":"wet"}`)
	at := "/quarantine/" + key + "/decisions"
	b.caller.send("POST", at, []byte(`{"what":"accepted"}`)).problem(t, 422, "job")
	b.caller.send("POST", at, []byte(`{"what":"corrected","why":"so"}`)).problem(t, 422, "what")
	b.caller.send("POST", at, []byte(`{"what":"reopened","why":"so"}`)).problem(t, 422, "what")
	b.caller.send("POST", at, []byte(`{"what":"set-aside"}`)).problem(t, 422, "why")
	b.caller.send("POST", "/quarantine/"+strings.Repeat("ab", 32)+"/decisions", []byte(`{"what":"set-aside","why":"so"}`)).problem(t, 404, "")
	var made events.Decision
	for range 2 {
		b.caller.send("POST", at, []byte(`{"n":1,"what":"accepted","job":"`+b.job.String()+`"}`)).want(t, 201, &made)
	}
	b.caller.send("POST", at, []byte(`{"n":1,"what":"set-aside","why":"so"}`)).problem(t, 409, "")
	var got struct {
		Quarantine []struct{ Decision *events.Decision }
	}
	b.caller.get("/quarantine", &got)
	if len(got.Quarantine) != 0 {
		t.Errorf("%+v waits", got.Quarantine)
	}
	b.caller.get("/quarantine?settled=1", &got)
	if len(got.Quarantine) != 1 || got.Quarantine[0].Decision == nil || got.Quarantine[0].Decision.Event != made.Event {
		t.Errorf("%+v, want it settled as %s", got.Quarantine, made.Event)
	}
	if notes := b.caller.state(b.job).Lists.Notes; len(notes) != 1 {
		t.Errorf("%d notes in the job, want 1", len(notes))
	}
}

// What a fold has set aside is named by what it waits for.
func TestAsideListed(t *testing.T) {
	b := newBrowser(t, newSite(t))
	b.caller.post(b.job, newDevice(t, b.job).raw("finding", `{"what":"wet rot","supports":["B9-9"]}`))
	for i := 0; !strings.Contains(b.get("/quarantine"), "B9-9 is not on any plan yet"); i++ { // its summary is written behind
		if i == 100 {
			t.Fatal("what is set aside is not listed")
		}
		time.Sleep(100 * time.Millisecond)
	}
}
