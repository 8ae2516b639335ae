package server_test

import (
	"fmt"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"relevel/events"
)

// ownedJob is a job that was lifted, handed over and read again twice, with photos of
// one place before and after.
func ownedJob(t *testing.T) *browser {
	b := newBrowser(t, newSite(t))
	b.job = b.emptyJob("The kitchen that sank")
	d := newDevice(t, b.job)
	d.at = d.at.AddDate(0, 0, -430)
	on := func(setup fmt.Stringer, point string, staff float64) string {
		return d.raw("reading", fmt.Sprintf(`{"setup":%q,"point":%q,"face":"floor","surface":"boards","staff":%g}`, setup, point, staff))
	}
	b.caller.post(b.job, d.raw("plan", `{"supports":[{"id":"B1-1","x":0,"y":0},{"id":"B1-2","x":1.8,"y":0},{"id":"B1-3","x":3.6,"y":0},{"id":"B2-1","x":0,"y":1.7},{"id":"B2-2","x":1.8,"y":1.7},{"id":"B2-3","x":3.6,"y":1.7}],
		"datums":[{"id":"D1","x":-1,"y":0,"height":0,"off_building":true,"stands_on":"the kerb"}],"bearers":[{"id":"B1","supports":["B1-1","B1-2","B1-3"]},{"id":"B2","supports":["B2-1","B2-2","B2-3"]}],
		"rooms":[{"name":"kitchen","outline":[[-0.5,-0.5],[4.1,-0.5],[4.1,2.2],[-0.5,2.2]]}]}`))
	b.saved("note", "", url.Values{"text": {"before"}, "photo-subject": {"kitchen"}, "photo-stage": {"before"}}, picture(t))
	setup, raw := d.setup()
	b.caller.post(b.job, raw, on(setup, "B1-1", 1000), on(setup, "B1-2", 1012), on(setup, "B1-3", 1020), on(setup, "B2-1", 1004), on(setup, "B2-2", 1015), on(setup, "B2-3", 1022),
		d.raw("aim", `{"aim":"highest","tolerance":{"within_mm":3,"profile":"nz-1-200"},"agreed_by":"the owner","left_out":["B2-1"],"left_out_why":[{"support":"B2-1","why":"the hearth stands on it"}]}`),
		d.raw("finding", `{"what":"sunk","cause":"the gutter leaks","supports":["B1-3"],"trade":"plumber"}`),
		d.raw("change", `{"text":"A new vent in the back wall","amount":180,"currency":"AUD"}`))
	for id, by := range map[string]float64{"B1-2": 12, "B1-3": 20, "B2-2": 15, "B2-3": 22} {
		b.caller.post(b.job, d.raw("jacking", fmt.Sprintf(`{"moves":[{"support":%q,"by":%g,"gauge":"rule"}]}`, id, by)),
			d.raw("packing", fmt.Sprintf(`{"support":%q,"sort":"final","gap":%g,"full_width":true,"pieces":[{"thickness":%g,"material":"hardwood"}]}`, id, by, by)), d.raw("jack-down", fmt.Sprintf(`{"support":%q}`, id)))
	}
	seen, look := d.event("reading", fmt.Sprintf(`{"setup":%q,"point":"B1-3","face":"floor","surface":"boards","staff":1001}`, setup))
	b.caller.post(b.job, on(setup, "B1-1", 1000), on(setup, "B1-2", 1000), look, on(setup, "B2-1", 1004), on(setup, "B2-2", 1000), on(setup, "B2-3", 1001),
		d.raw("handover", fmt.Sprintf(`{"date":%q,"present":"the owner","care":"keep the gutter clear","owners_places":[{"point":"B1-3","reading":%q}]}`, d.at.Format("2006-01-02"), seen)))
	for i := range 3 {
		d.at = d.at.AddDate(0, 0, 200*min(i, 1)+10)
		setup, raw := d.setup()
		b.caller.post(b.job, raw, on(setup, "B1-1", 1000), on(setup, "B1-3", 1001+float64(8*i)))
	}
	b.saved("note", "", url.Values{"text": {"after"}, "photo-subject": {"kitchen"}, "photo-stage": {"after"}}, picture(t))
	return b
}

// emptyJob makes a job of which nothing is recorded.
func (b *browser) emptyJob(name string) events.ID {
	b.t.Helper()
	id := newID(b.t)
	b.caller.send("POST", "/jobs", fmt.Appendf(nil, `{"id":"%s","name":%q,"zone":"Australia/Sydney"}`, id, name)).want(b.t, 201, nil)
	return id
}

// The owner's page answers every question, shows prints, lines, maps and time lines,
// and leads nowhere but to itself and its photos.
func TestOwnerPage(t *testing.T) {
	b := ownedJob(t)
	page := b.get(b.page("/owner"))
	wantWords(t, page, "What was done under your floor", "What was wrong?", "Before the work the floor was up to 22 mm out of level", "The figures behind this", "Left out, and not to be lifted: stump B2-1", "the hearth stands on it",
		"Why isn’t it dead level?", "Every stump, one by one", "<th scope=\"row\">B1-3</th>", `class="two-prints"`, "size=320", "The kitchen before the work", "Before", "After", "The floor along its lines", `class="lines"`, "Maps of the floor", `class="shading"`,
		"Is it done moving?", "It is moving at stump B1-3", `class="timeline"`, "moving, down", "Is the cause mended?", "Not mended: sunk (the gutter leaks)", "Who inspected it?", "Not recorded: ", "Whom do I ring", "Waits for your answer: A new vent", "How can I check this?", "What you saw", "Stump B1-3", "What the seal shows", "does not show that a reading was right",
		"Words used here", "Stump", "not an engineer’s certificate")
	_, article, _ := strings.Cut(page, `<article class="owner">`)
	article, _, _ = strings.Cut(article, "</article>")
	for _, link := range regexp.MustCompile(`(?:href|action)="([^"]*)"`).FindAllStringSubmatch(article, -1) {
		if !strings.HasPrefix(link[1], "#") && !strings.HasPrefix(link[1], "/api/v1/photos/") {
			t.Errorf("the owner's page leads to %s", link[1])
		}
	}
	if maps := strings.Count(page, `class="shading"`); maps != 2 {
		t.Errorf("%d maps", maps)
	}
}

// Of a job without records every answer says that nothing is recorded.
func TestOwnerPageOfNothing(t *testing.T) {
	b := newBrowser(t, newSite(t))
	b.job = b.emptyJob("An empty house")
	page := b.get(b.page("/owner"))
	wantWords(t, page, "Nothing is recorded yet", "There are no maps to compare")
	if n := strings.Count(page, "<p>Not recorded: "); n != 13 {
		t.Errorf("%d answers say that nothing is recorded", n)
	}
	wantNone(t, page, "<svg", `class="two-prints"`, "figures behind")
}
