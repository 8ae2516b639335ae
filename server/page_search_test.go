package server_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"relevel/jobs"
	"relevel/jobs/pgjobs"
	"relevel/server"
)

// searched asks until what was appended has been read, which is done behind.
func (b *browser) searched(q, want string) (body string) {
	b.t.Helper()
	for range 100 {
		body = b.get("/search?q=" + url.QueryEscape(q))
		if strings.Contains(body, want) {
			return body
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.t.Fatalf("the search for %q lacks %q: %s", q, want, body)
	return ""
}

func TestSearchPage(t *testing.T) {
	s := newSite(t)
	b, other := newBrowser(t, s), newBrowser(t, s)
	d := newDevice(t, b.job)
	d.by = b.person
	b.caller.post(b.job, d.raw("finding", `{"what":"wet rot","where":"under the Māori carving","supports":["B1-2"]}`),
		d.raw("note", `{"text":"the owner says <b>the chimney</b> settled"}`))
	voided, raw := d.event("note", `{"text":"chimney struck out"}`)
	b.caller.post(b.job, raw)

	body := b.searched("maori", "<mark>Māori</mark>")
	has(t, "the line", body, "14 Wattle Street", "/book?at=2#n2", "Finding:", "<b>B1-2</b>")
	has(t, "another form", b.get("/search?q=settling"), "&lt;b&gt;the chimney&lt;/b&gt; <mark>settled</mark>")
	has(t, "by its place", b.get("/search?q=b1-2+rot"), "<mark>B1-2</mark>", "<mark>rot</mark>")
	has(t, "by who recorded it", b.get("/search?q=mere+owner"), "<mark>Mere</mark>")
	has(t, "the job by its name", b.get("/search?q=watt"), "<mark>Wattle</mark>")
	has(t, "nothing", b.get("/search?q=elephant"), "Nothing was found for “elephant”")
	has(t, "nothing asked", b.get("/search"), "By the name or place of a job")
	if body := other.get("/search?q=chimney"); strings.Contains(body, "says") {
		t.Errorf("another firm finds it: %s", body)
	}
	b.caller.post(b.job, d.raw("void", `{"event":"`+voided.String()+`","why":"said twice"}`))
	b.searched("chimney struck", `class="struck"`)
}

// Over the API, in pages, with bounds.
func TestSearchPages(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	var raws []string
	for i := range 40 {
		raws = append(raws, d.raw("note", fmt.Sprintf(`{"text":"damp patch %d"}`, i)))
	}
	b.caller.post(b.job, raws...)
	b.searched("damp", ">More<")
	has(t, "the second page", b.get("/search?q=damp&skip=30"), "Before these", "patch 0")
	var got struct {
		Lines []jobs.Passage
		More  bool
	}
	b.caller.get("/search?q=damp&limit=15&skip=30", &got)
	if len(got.Lines) != 10 || got.More || got.Lines[9].Words != "damp patch 0" {
		t.Errorf("%d lines, more %t, want the last 10: %+v", len(got.Lines), got.More, got.Lines)
	}
	b.caller.get("/search?q=damp&limit=15", &got)
	if len(got.Lines) != 15 || !got.More {
		t.Errorf("%d lines, more %t", len(got.Lines), got.More)
	}
	b.caller.send("GET", "/search?q=damp&limit=101", nil).problem(t, 422, "limit")
	b.caller.send("GET", "/search?q=damp&skip=-1", nil).problem(t, 422, "skip")
	b.caller.get("/search?q="+url.QueryEscape(strings.Repeat("é", 400)), &got)
}

// What was appended while nobody read is read when somebody searches, and a
// rebuild reads all anew.
func TestSearchRebuilt(t *testing.T) {
	s := newSite(t)
	b := newBrowser(t, s)
	b.caller.post(b.job, newDevice(t, b.job).raw("note", `{"text":"damp patch"}`))
	b.searched("damp", "<mark>damp</mark>")
	store := pgjobs.New(s.db.App)
	must(t, store.SaveBook(t.Context(), jobs.BookStretch{Firm: b.caller.firm, Job: b.job, Upto: 0, Version: 0})) // as before it was read
	config, err := configOn(s.db.App, t.TempDir())
	must(t, err)
	if _, err := server.Rebuild(t.Context(), config.Log, store, b.caller.firm); err != nil {
		t.Fatal(err)
	}
	found, err := store.SearchBooks(t.Context(), b.caller.firm, jobs.Search{Terms: []jobs.Term{{Word: "damp"}}, Limit: 9})
	if err != nil || len(found) != 1 {
		t.Errorf("%+v, %v after a rebuild, want the note", found, err)
	}
}
