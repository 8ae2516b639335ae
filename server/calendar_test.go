package server_test

import (
	"html"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
)

// A crew's calendar has its days, worked and planned, what is due and the visits of
// inspectors, by a link that opens until it is revoked and stands in no log.
func TestCalendar(t *testing.T) {
	s := newSite(t)
	b := newBrowser(t, s)
	store := pgjobs.New(s.db.App)
	crew, other := jobs.Crew{Firm: b.caller.firm, ID: newID(t), Name: "North"}, jobs.Crew{Firm: b.caller.firm, ID: newID(t), Name: "South"}
	must(t, store.CreateCrew(t.Context(), crew))
	must(t, store.CreateCrew(t.Context(), other))
	must(t, store.CreateJack(t.Context(), jobs.Jack{Firm: b.caller.firm, ID: newID(t), Name: "blue", RatedKN: 50, Upkeep: jobs.Upkeep{InspectedOn: "2026-01-05", DueOn: "2027-01-05"}, CreatedAt: time.Now()}))
	b.giveTo(crew.ID, "2031-03-02", "2031-03-04")
	d := newDevice(t, b.job)
	b.caller.post(b.job,
		d.raw("finding", `{"what":"trap leaks","supports":["B1-1"],"trade":"plumber","by":"2031-04-01"}`),
		d.raw("inspection", `{"who":"the inspector","stage":"pads","answer":"passed"}`),
		d.raw("handover", `{"date":"2026-03-02","present":"the owner","come_back":["2031-09-01"]}`))
	waitListed(t, b.caller, 4)

	north, south := b.link(crew.ID), b.link(other.ID)
	got := calendarOf(t, north)
	for _, want := range []string{"14 Wattle Street: planned", "14 Wattle Street: due trap leaks", "14 Wattle Street: come back and read", "14 Wattle Street: inspection", "Jack blue: inspection due", "14 Wattle Street"} {
		if !strings.Contains(got, want+"|") {
			t.Errorf("the calendar lacks %q: %s", want, got)
		}
	}
	if again := calendarOf(t, north); again != got {
		t.Errorf("asked again it reads otherwise:\n%s\n%s", got, again)
	}
	if theirs := calendarOf(t, south); strings.Contains(theirs, "Wattle") || !strings.Contains(theirs, "Jack blue") {
		t.Errorf("another crew's calendar has %s", theirs)
	}
	page := b.get("/calendars")
	if strings.Contains(page, "rl_") {
		t.Error("the page shows a link again")
	}
	b.post("/calendars/revoke", url.Values{"calendar": {hiddenNamed(t, page, "calendar", "North")}})
	if resp := fetch(t, north); resp.StatusCode != http.StatusNotFound {
		t.Errorf("revoked it answers %s", resp.Status)
	}
	if resp := fetch(t, south); resp.StatusCode != http.StatusOK {
		t.Errorf("the other one answers %s", resp.Status)
	}
	for _, wrong := range []string{"/calendar/x.ics", "/calendar/" + b.caller.token + ".ics", "/calendar/" + tokenIn(north)[:len(tokenIn(north))-4] + "0000.ics"} {
		if resp := fetch(t, s.URL+wrong); resp.StatusCode != http.StatusNotFound {
			t.Errorf("%s answers %s", wrong, resp.Status)
		}
	}
	if resp := b.caller.at(s).with(tokenIn(south)).send("GET", "/jobs", nil); resp.status != http.StatusUnauthorized {
		t.Errorf("a calendar's token opens the API: %d", resp.status)
	}
	fetch(t, s.URL+"//calendar/"+tokenIn(north)+".ics") // as somebody may write it
	if strings.Contains(s.log.String(), tokenIn(north)) || strings.Contains(s.log.String(), tokenIn(south)) {
		t.Error("the log shows what opens a calendar")
	}
}

// with is the same caller with another token.
func (c *caller) with(token string) *caller {
	there := *c
	there.token = token
	return &there
}

// giveTo gives the job to a crew, for some days.
func (b *browser) giveTo(crew events.ID, first, last string) {
	b.t.Helper()
	form := hidden(b.get(b.page("/particulars")))
	for name, v := range map[string]string{"name": "14 Wattle Street", "zone": "Australia/Sydney", "crew": crew.String(), "planned_first": first, "planned_last": last} {
		form.Set(name, v)
	}
	if status, body, _ := b.post(b.page("/particulars"), form); status != 200 {
		b.t.Fatalf("status %d: %s", status, body)
	}
}

var madeLink = regexp.MustCompile(`readonly value="([^"]+)"`)

// link makes a link to a crew's calendar, after a try without a name.
func (b *browser) link(crew events.ID) string {
	b.t.Helper()
	form := hidden(b.get("/calendars"))
	form.Set("crew", crew.String())
	if status, body, _ := b.post("/calendars", form); status != 422 || !strings.Contains(body, "missing: a few words") {
		b.t.Errorf("without a name: status %d", status)
	}
	form.Set("name", "the wall")
	status, body, _ := b.post("/calendars", form)
	m := madeLink.FindStringSubmatch(body)
	if status != 201 || m == nil {
		b.t.Fatalf("status %d: %s", status, body)
	}
	return html.UnescapeString(m[1])
}

func tokenIn(link string) string {
	return strings.TrimSuffix(link[strings.LastIndex(link, "/")+1:], ".ics")
}

func fetch(t *testing.T, address string) *http.Response {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), "GET", address, nil)
	must(t, err)
	resp, err := http.DefaultClient.Do(r)
	must(t, err)
	t.Cleanup(func() { resp.Body.Close() })
	return resp
}

// calendarOf reads a calendar as a program for them does.
func calendarOf(t *testing.T, address string) string {
	t.Helper()
	resp := fetch(t, address)
	if resp.StatusCode != 200 || resp.Header.Get("Content-Type") != "text/calendar; charset=utf-8" {
		t.Fatalf("%s of type %s", resp.Status, resp.Header.Get("Content-Type"))
	}
	text, err := io.ReadAll(resp.Body)
	must(t, err)
	c, err := ics.ParseCalendar(strings.NewReader(string(text)))
	must(t, err)
	told, ids := "", map[string]bool{}
	for _, e := range c.Events() {
		if ids[e.Id()] || e.GetProperty(ics.ComponentPropertyDtstamp) == nil {
			t.Errorf("an event without an id or a stamp of its own: %+v", e)
		}
		ids[e.Id()] = true
		told += e.GetProperty(ics.ComponentPropertySummary).Value + "|"
	}
	return told
}

// hiddenNamed finds the hidden value in the row of a table that holds words.
func hiddenNamed(t *testing.T, page, name, words string) string {
	t.Helper()
	for row := range strings.SplitSeq(page, "<tr") {
		if m := regexp.MustCompile(`name="` + name + `" value="([^"]+)"`).FindStringSubmatch(row); m != nil && strings.Contains(row, words) {
			return m[1]
		}
	}
	t.Fatalf("no row with %q", words)
	return ""
}
