package server_test

import (
	"html"
	"net/url"
	"strings"
	"testing"

	"relevel/events"
)

// sent posts a form and wants a status and words on the page it leads to.
func (b *browser) sent(path string, form url.Values, want int, words ...string) (at string) {
	b.t.Helper()
	status, body, u := b.post(path, form)
	if status != want {
		b.t.Fatalf("POST %s: status %d, want %d: %s", path, status, want, body)
	}
	for _, w := range words {
		if !strings.Contains(body, w) {
			b.t.Errorf("POST %s: no %q in %s", path, w, body)
		}
	}
	return u.Path
}

// A firm gets from nothing to a plan on its pages alone.
func TestFirstJobOnPages(t *testing.T) {
	b := newBrowser(t, newSite(t))
	if page := b.get("/"); !strings.Contains(page, "/new-job") || !strings.Contains(page, "/people") {
		t.Error("no way to a new job, or to people")
	}
	b.sent("/people", url.Values{"name": {""}, "role": {"site-lead"}}, 422, "missing: a few words")
	b.sent("/people", url.Values{"name": {"Kim <Tester>"}, "role": {"site-lead"}}, 200, "Kim &lt;Tester&gt;", "site lead")

	b.sent("/new-job", url.Values{"name": {"Trial house"}, "zone": {"Atlantis/Centre"}}, 422, "Australia/Sydney", `value="Trial house"`)
	form := url.Values{"id": {newID(t).String()}, "name": {"Trial house"}, "zone": {"Australia/Melbourne"}}
	first := b.sent("/new-job", form, 200, "Trial house", "Put in a plan")
	if again := b.sent("/new-job", form, 200); again != first {
		t.Errorf("a double press made two jobs: %s and %s", first, again)
	}
	page := b.get(first + "/record/plan?bearers=2000&supports=3&along=1.8&across=NaN")
	for _, want := range []string{"a whole number from 1 to 40", "metres, more than 0", `value="2000"`} {
		if !strings.Contains(page, want) {
			t.Errorf("a grid beyond reason: no %q", want)
		}
	}
	b.get(first + "/records")
}

// The grid is a plan that the log takes.
func TestGridIsAPlan(t *testing.T) {
	b := newBrowser(t, newSite(t))
	job := b.sent("/new-job", url.Values{"name": {"House"}, "zone": {"UTC"}}, 200)
	page := b.get(job + "/record/plan?bearers=4&supports=6&along=1.8&across=2.45")
	_, rest, _ := strings.Cut(page, "<textarea")
	_, rest, _ = strings.Cut(rest, ">")
	document, _, _ := strings.Cut(rest, "</textarea>")
	opened, err := events.Open(events.KindPlan, 1, []byte(html.UnescapeString(document)))
	if err != nil {
		t.Fatalf("%v\n%.300s", err, document)
	}
	if p := opened.(*events.Plan); len(p.Supports) != 24 || len(p.Bearers) != 4 || p.Supports[23].Y != 7.35 {
		t.Errorf("%d supports on %d bearers, the last at %v", len(p.Supports), len(p.Bearers), p.Supports[23])
	}
}

// What is recorded can be read by kind, what is open first.
func TestRecordsPage(t *testing.T) {
	b := newBrowser(t, newSite(t))
	b.saved("finding", "", url.Values{"what": {"gutter spills"}, "photo-subject": {"gutter, north"}}, picture(t))
	b.saved("note", "", url.Values{"text": {"owner away"}})
	b.saved("finding", "", url.Values{"what": {"leaning"}, "supports": {"B1-2"}}, picture(t))
	page := b.get(b.page("/records"))
	for _, want := range []string{"gutter spills", `<b class="danger">open</b>`, "owner away", "Mere Kohu", "<h3>gutter, north</h3>", `alt="Photo of gutter, north"`, "<h3>B1-2</h3>"} {
		if !strings.Contains(page, want) {
			t.Errorf("no %q", want)
		}
	}
}

// The job's page says where to turn to next, what is dangerous first.
func TestSoon(t *testing.T) {
	b := newBrowser(t, newSite(t))
	page := b.get(b.page(""))
	if !strings.Contains(page, `class="soon"`) || !strings.Contains(page, "Read it") {
		t.Errorf("nothing to turn to next: %s", page)
	}
	b.saved("jacking", "?support=B1-2", url.Values{"moves[0].support": {"B1-2"}, "moves[0].by": {"3"}, "moves[0].gauge": {"rule"}})
	_, soon, _ := strings.Cut(b.get(b.page("")), `class="soon"`)
	soon, _, _ = strings.Cut(soon, "</ol>")
	if jacked, other := strings.Index(soon, "B1-2"), strings.Index(soon, "B1-1"); jacked < 0 || other >= 0 && other < jacked {
		t.Errorf("the one on a jack is not first: %s", soon)
	}
}

// The hand-over carries the places the owner picked, with their readings.
func TestHandoverWithOwnersPlaces(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1000))
	reading := optionOf(t, b.get(b.page("/record/handover")), "B1-1, ")
	b.saved("handover", "", url.Values{"date": {"2026-05-14"}, "present": {"owner"},
		"owners_places[1].point": {"B1-1"}, "owners_places[1].reading": {reading}})
	if page := b.get(b.page("/records")); !strings.Contains(page, "2026-05-14") {
		t.Error("the hand-over is not among the records")
	}
}
