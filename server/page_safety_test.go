package server_test

import (
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"relevel/jobs"
	"relevel/server"
)

// Each form and page shows the cautions of its figures.
func TestCautionsOnPages(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-2", 1012), d.raw("under-floor", `{"ground":"damp"}`))
	const (
		between  = "Nothing of you between bearer and support"
		alone    = "Never rely on a jack alone above a person"
		block    = "before anybody goes below"
		confined = "29 CFR 1926.1202"
		power    = "Power and gas below are isolated"
		asbestos = "presume it up to 1980, in Australia before 1990 (29 CFR 1926.1101; Australia from memory)"
		lead     = "40 CFR 745"
		engineer = "An engineer decides where walls carry a roof or are masonry"
		local    = "Local code and licensed people come first"
	)
	taken := jobs.Australia.Words().Say("Blocking carries the load before a support is taken out")
	for path, cautions := range map[string][]string{
		"/record/jacking":          {alone, block, "no more than is marked", "29 CFR 1926.305", engineer, local},
		"/record/packing":          {between, alone, asbestos, local},
		"/record/jack-down":        {between, alone, local},
		"/record/blocking":         {block, between, local},
		"/record/blocking-removed": {block, between, local},
		"/record/support-work":     {taken, between, engineer, local},
		"/record/floor-cut":        {"Saw no deeper than the boards", "Lift or drill one board first", "Cables and pipes lie in joist tops", "may brace the house", asbestos, lead, local},
		"/record/under-floor":      {confined, power, asbestos, local},
		"/record/safety-check":     {confined, power, alone, asbestos, lead, local},
		"/supports/B1-2":           {between, alone, block, engineer, local},
		"/moves":                   {"No rate of lifting is published as safe", between, alone, block, engineer, local},
		"/packers":                 {between, alone, asbestos},
		"":                         {confined, power, asbestos},
	} {
		says(t, b.get(b.page(path)), cautions...)
	}
}

// The day's safety check stands above what is moved next and on the forms it comes
// before, until it is recorded.
func TestSafetyCheckIsAskedFor(t *testing.T) {
	const asked = "Safety check first"
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	if strings.Contains(b.get(b.page("")), asked) {
		t.Error("nobody is to go below yet")
	}
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1010), d.reading(setup, "B1-2", 1012), d.reading(setup, "B1-3", 1000))
	b.saved("aim", "", url.Values{"aim": {"level"}, "height": {"0"}, "step_mm": {"5"}, "neighbour_mm": {"50"}, "agreed_by": {"the owner"}})
	b.caller.post(b.job, d.raw("tie", `{"tie":"waste","what":"bath waste"}`), d.raw("condition", `{"room":"hall","walls":"sound"}`), d.raw("finding", `{"what":"sunk","cause":"gutter"}`))
	pages := []string{"", "/moves", "/record/jacking", "/record/floor-cut", "/record/support-work"}
	for _, path := range pages {
		page := b.get(b.page(path))
		says(t, page, asked)
		if soon := strings.Index(page, `class="soon"`); path == "" && soon >= 0 && soon < strings.Index(page, asked) {
			t.Error("it stands after the next moves")
		}
	}
	form := b.get(b.page("/record/safety-check"))
	says(t, form, "Circuits and gas", "No engine", "No water", "old packers, sheet and glue", "Lead", "rated for the load and in date", "Blocking is to hand", "way out", "stays at the hatch")
	b.saved("safety-check", "", url.Values{"sentences[0].initials": {"mk"}, "at_hatch": {"Rangi"}})
	for _, path := range pages {
		if strings.Contains(b.get(b.page(path)), asked) {
			t.Errorf("%s asks for what is recorded", path)
		}
	}
}

// Once the day is over the page asks whether everybody is out, and the form of the
// day's end starts with what is left, services too.
func TestEndOfTheDayIsAskedFor(t *testing.T) {
	const asked = "Is everybody out?"
	var later atomic.Int64
	b := newBrowser(t, newSite(t, func(c *server.Config) {
		c.Now = func() time.Time {
			return time.Date(2026, 3, 2, 9, 0, 0, 0, siteZone(t)).Add(time.Duration(later.Load()))
		}
	}))
	b.saved("safety-check", "", url.Values{"sentences[0].initials": {"mk"}, "off": {"power to the kitchen, gas"}})
	page := b.get(b.page(""))
	says(t, page, "not said to be out", "still off")
	if strings.Contains(page, asked) {
		t.Error("it is nine in the morning")
	}
	for _, after := range []time.Duration{7 * time.Hour, 23 * time.Hour} {
		later.Store(int64(after))
		says(t, b.get(b.page("")), asked, "/record/day-end")
	}
	b.saved("floor-cut", "", url.Values{"cut": {"c1"}, "where": {"hall"}})
	says(t, b.get(b.page("/record/day-end")), ">c1 floor cut not covered\npower to the kitchen still off\ngas still off</textarea>")
	b.saved("day-end", "", url.Values{"out": {"yes"}, "on": {"yes"}})
	if page := b.get(b.page("")); strings.Contains(page, asked) || strings.Contains(page, "still off") {
		t.Error("everybody is out and everything is on")
	}
}

func siteZone(t *testing.T) *time.Location {
	zone, err := time.LoadLocation("Australia/Sydney")
	must(t, err)
	return zone
}
