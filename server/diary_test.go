package server_test

import (
	"html"
	"io"
	"strings"
	"testing"
	"time"
)

// The diary tells a day in words, by the clock of the site, and a void takes out of it
// what did not happen.
func TestDiary(t *testing.T) {
	b := newBrowser(t, newSite(t))
	zone, err := time.LoadLocation("Australia/Sydney")
	must(t, err)
	d := newDevice(t, b.job)
	at := func(hour, minute int) { d.at = time.Date(2026, 3, 2, hour, minute, 0, 0, zone) }
	at(7, 40)
	check := d.raw("safety-check", `{"sentences":[{"text":"way out clear","initials":"MK"}]}`)
	moved := d.raw("jacking", `{"moves":[{"support":"B1-1","by":4,"gauge":"rule"}]}`)
	twice, again := d.event("jacking", `{"moves":[{"support":"B1-1","by":3,"gauge":"rule"}]}`)
	final := d.raw("packing", `{"support":"B1-1","sort":"final","pieces":[{"thickness":20}],"full_width":true}`)
	finding := d.raw("finding", `{"what":"trap leaks"}`)
	at(15, 10)
	out := d.raw("day-end", `{"out":true}`)
	b.caller.post(b.job, check, moved, again, final, finding, out)
	waitListed(t, b.caller, 7)
	page := html.UnescapeString(b.get("/diary?day=2026-03-02"))
	if want := "B1-1 up 7, packed one final, one finding, below 07:40 to 15:10."; !strings.Contains(page, want) {
		t.Errorf("the diary does not say %q: %s", want, page)
	}
	d.at = d.at.Add(24 * time.Hour)
	b.caller.post(b.job, d.raw("void", `{"event":"`+twice.String()+`","why":"counted twice"}`))
	waitListed(t, b.caller, 8)
	if page := b.get("/diary?day=2026-03-02"); !strings.Contains(page, "B1-1 up 4, packed") {
		t.Errorf("a move that was voided is in the diary: %s", page)
	}
	if page := b.get("/diary?day=2026-03-01"); !strings.Contains(page, "Nothing was recorded on this day") || !strings.Contains(page, "/diary?day=2026-03-02") {
		t.Error("an empty day does not say so, or leads nowhere")
	}
	status, body := b.tryGet("/diary?day=yesterday")
	if status != 422 || !strings.Contains(body, "a date, as 2026-03-02") {
		t.Errorf("a day that is none: status %d: %s", status, body)
	}
}

// tryGet gets a page whatever its status.
func (b *browser) tryGet(path string) (status int, body string) {
	b.t.Helper()
	resp := b.ask(path, "identity")
	text, err := io.ReadAll(resp.Body)
	must(b.t, err)
	return resp.StatusCode, string(text)
}
