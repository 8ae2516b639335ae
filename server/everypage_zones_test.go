package server_test

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"relevel/jobs"
	"relevel/levelling"
)

// lordHowe sets its clocks back by half an hour, at 2 in the morning of 5 April 2026.
const lordHowe = "Australia/Lord_Howe"

var clockTime = regexp.MustCompile(`\b([01]\d|2[0-3]):[0-5]\d\b`)

// Every time on a page is by the clock of its site, or of the firm where it is about no
// site, whatever the zone of the server, and across a change of the clocks.
func TestTimesOfEveryPage(t *testing.T) {
	here := time.Local
	t.Cleanup(func() { time.Local = here })
	time.Local = time.FixedZone("server", -(7*3600 + 17*60)) // its minutes are no other zone's
	zone, err := time.LoadLocation(lordHowe)
	must(t, err)
	clock := newHandClock()
	clock.ms.Store(time.Date(2026, 4, 5, 9, 40, 0, 0, zone).UnixMilli())
	begun := time.Now()
	s := newSite(t, withClock(clock))
	h := newHouse(t, s, clock, jobs.Firm{Words: jobs.Australia, Units: levelling.Millimetre, Zone: lordHowe}, lordHowe)
	right := map[string]bool{}
	for _, at := range append(h.times, clock.now(), begun, time.Now(), time.Now().Add(time.Minute)) {
		right[at.In(zone).Format("15:04")] = true
	}
	sydney, err := time.LoadLocation("Australia/Sydney")
	must(t, err)
	right[clock.now().In(sydney).Format("15:04")] = true // the job that was closed stands there
	h.pages(t, func(path, text string) {
		if path == "/jobs/{job}/book/import" {
			return // its times are those of the example of a file
		}
		for _, at := range clockTime.FindAllStringIndex(text, -1) {
			if !right[text[at[0]:at[1]]] {
				t.Errorf("%s: %s", path, around(text, at))
			}
		}
	})
	book := visible(string(h.ask(t, request{method: "GET", path: "/jobs/{job}/book"}, h.names).body))
	for _, want := range []string{"Fri 3 Apr 2026", "22:10", "Sun 5 Apr 2026", "01:40"} { // 11:10 and 15:10 UTC
		if !strings.Contains(book, want) {
			t.Errorf("the book does not say %q: %.900s", want, book)
		}
	}
}
