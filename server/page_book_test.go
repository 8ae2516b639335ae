package server_test

import (
	"fmt"
	"html"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"
)

// numbersIn are the lines of the book on a page, by their numbers.
func numbersIn(page string) string {
	var all []string
	for _, m := range regexp.MustCompile(`<tr id="n(\d+)"`).FindAllStringSubmatch(page, -1) {
		all = append(all, m[1])
	}
	return strings.Join(all, " ")
}

// Every field of the filter lets through what it asks for, and the page says what
// it hides.
func TestBookFiltered(t *testing.T) {
	b := newBrowser(t, newSite(t)) // line 1 is the plan
	d := newDevice(t, b.job)
	d.by = b.person
	setup, raw := d.setup() // 2
	other, raw2 := d.setup()
	yesterday := d.rawOff("note", `{"text":"rain all day","supports":["B1-2"]}`, -26*time.Hour)
	b.caller.post(b.job, raw, raw2, d.reading(setup, "B1-1", 1012), d.reading(other, "B1-2", 1007), yesterday) // 3 to 6
	slip, raw := d.event("note", `{"text":"a slip"}`)                                                          // 7
	b.caller.post(b.job, raw, d.raw("void", fmt.Sprintf(`{"event":"%s","why":"wrong house"}`, slip)))          // 8
	b.saved("note", "", url.Values{"text": {"with a photo"}, "photo-stage": {"after"}}, picture(t))            // 9
	local, err := time.LoadLocation("Australia/Sydney")
	must(t, err)
	for query, want := range map[string]string{
		"":                                 "1 2 3 4 5 6 7 8 9",
		"support=B1-2":                     "5 6",
		"support=D1":                       "2 3",
		"kind=reading":                     "4 5",
		"by=" + b.person.String():          "2 3 4 5 6 7 8 9",
		"by=nobody":                        "",
		"setup=" + setup.String():          "2 4",
		"stage=after":                      "9",
		"stage=before":                     "",
		"stage=any":                        "9",
		"text=RAIN":                        "6",
		"text=wrong+house":                 "7 8",
		"text=Mere":                        "2 3 4 5 6 7 8 9",
		"struck=no":                        "1 2 3 4 5 6 9",
		"kind=note&struck=no":              "6 9",
		"kind=note&support=B1-2&text=rain": "6",
		"day=" + d.at.Add(-26*time.Hour).In(local).Format(time.DateOnly): "6",
	} {
		page := b.get(b.page("/book?" + query))
		if got := numbersIn(page); got != want {
			t.Errorf("%s shows lines %q, want %q", query, got, want)
		}
		if query == "" {
			hides(t, page, "Show everything")
			continue
		}
		n := len(strings.Fields(want))
		shows(t, page, fmt.Sprintf("%d fit", n), fmt.Sprintf("%d %s not shown", 9-n, map[bool]string{true: "is", false: "are"}[9-n == 1]), "Show everything")
	}
	shows(t, b.get(b.page("/book?support=B1-2&kind=reading&text=07")), "Shown: at B1-2, read, with “07”.")
	shows(t, b.get(b.page("/book?text="+url.QueryEscape(`"><b>`))), "&lt;b&gt;")
}

// A filter that lets little through goes on looking where the page before ended.
func TestBookFilteredFarBack(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	b.caller.post(b.job, d.raw("note", `{"text":"the needle","supports":["B1-1"]}`))
	for range 12 {
		var raws []string
		for range 500 {
			raws = append(raws, d.raw("note", `{"text":"hay"}`))
		}
		b.caller.post(b.job, raws...)
	}
	page := b.get(b.page("/book?text=needle"))
	shows(t, page, "None among lines 1003 to 6002 of 6002", "earlier ones were not looked through yet")
	earlier := regexp.MustCompile(`href="([^"]+)">Earlier`).FindStringSubmatch(page)
	if earlier == nil || !strings.Contains(earlier[1], "text=needle") {
		t.Fatalf("Earlier forgets the filter: %v", earlier)
	}
	page = b.get(html.UnescapeString(earlier[1]))
	if got := numbersIn(page); got != "2" {
		t.Errorf("further back are lines %q, want 2", got)
	}
	shows(t, page, ">Latest")
}

// What rests on a line is said before it is voided, and what was struck can be
// recorded again with its words.
func TestVoidSaysWhatRestsOnIt(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1012), d.reading(setup, "B1-2", 1007))
	finding, raw := d.event("finding", `{"what":"wet","how_bad":"badly","supports":["B1-2"],"trade":"plumber","by":"2026-04-20"}`)
	b.caller.post(b.job, raw)
	void := func(line int) string {
		m := regexp.MustCompile(fmt.Sprintf(`href="([^"]*/record/void\?[^"]*line=%d)"`, line)).FindStringSubmatch(b.get(b.page("/book")))
		if m == nil {
			t.Fatalf("line %d cannot be voided", line)
		}
		return html.UnescapeString(m[1])
	}
	shows(t, b.get(void(2)), "On it rest 2 readings. Without it they do not count either.")
	hides(t, b.get(void(3)), "On it rest")

	path := void(5)
	form := hidden(b.get(path))
	form.Set("recorder", b.person.String())
	form.Set("why", "another house")
	if status, body, _ := b.post(path, form); status != 200 {
		t.Fatalf("status %d: %s", status, body)
	}
	m := regexp.MustCompile(`href="([^"]*/record/finding\?[^"]*again=5[^"]*)">Again`).FindStringSubmatch(b.get(b.page("/book")))
	if m == nil {
		t.Fatal("what was struck cannot be recorded again")
	}
	again := b.get(html.UnescapeString(m[1]))
	shows(t, again, `value="wet"`, `value="badly"`, `value="plumber"`, `value="2026-04-20"`, `value="B1-2" checked`)
	if status, body, _ := b.post(b.page("/findings/"+finding.String()), url.Values{}); status != 404 || !strings.Contains(body, "may have been voided") {
		t.Errorf("the page of a voided finding: status %d", status)
	}
	// What was not struck is recorded once: the form stays empty.
	hides(t, b.get(b.page("/record/note?again=3")), "1012")
}

// rawOff is raw by a clock that is off by some time.
func (d *device) rawOff(kind, body string, off time.Duration) string {
	d.t.Helper()
	d.at = d.at.Add(off)
	raw := d.raw(kind, body)
	d.at = d.at.Add(-off)
	return raw
}
