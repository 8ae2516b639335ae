package server_test

import (
	"encoding/csv"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// priced is a job of which the survey, a finding, a tie and a cut are recorded,
// all of them named as a formula would be.
func priced(t *testing.T) *browser {
	t.Helper()
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	b.caller.post(b.job, d.raw("plan", `{"supports":[{"id":"B1-1","x":0,"y":0},{"id":"B1-2","x":2,"y":0},{"id":"B1-3","x":4,"y":0},{"id":"B2-1","x":0,"y":2},{"id":"B2-2","x":2,"y":2},{"id":"B2-3","x":4,"y":2}],
		"bearers":[{"id":"B1","supports":["B1-1","B1-2","B1-3"]},{"id":"B2","supports":["B2-1","B2-2","B2-3"]}],"datums":[{"id":"D1","x":-1,"y":0,"height":0}],
		"rooms":[{"name":"=1+1","outline":[[-1,-1],[3,-1],[3,3],[-1,3]]}]}`))
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1000), d.reading(setup, "B1-2", 1012), d.reading(setup, "B1-3", 1004),
		d.raw("finding", `{"what":"rotten","supports":["B1-2"]}`), d.raw("tie", `{"tie":"+waste, \"old\"","what":"waste","trade":"@plumber","supports":["B1-1"]}`),
		d.raw("floor-cut", `{"cut":"-c1","where":"hall"}`))
	return b
}

func TestSchedulePage(t *testing.T) {
	b := priced(t)
	page := b.get(b.page("/schedule"))
	wantWords(t, page, "Up to the highest, not agreed", "B1-2", "checked", "rotten", "As a table", "=1&#43;1", "Lift in all", "12", "Stumps to replace", "Pads that nobody can size yet", "Nobody said what ground it stands on",
		"Under no room", "Stumps to pack", "The whole house", "16", "Area of floor cuts without an outline", "not known", "Nobody recorded it", "Rounds expected", "not known", "The most that one move may be is not set")
	asked := b.get(b.page("/schedule?soil=sand%2C+loose&thickness_mm=300&bag_litres=9"))
	wantWords(t, asked, "Pads to pour", "Concrete", "m³", "Bags of concrete")
	wantNone(t, b.get(b.page("/schedule?decided=yes")), "Stumps to replace")
	wantWords(t, b.get(b.page("/schedule?decided=yes&replace=B1-3")), "Stumps to replace", "B1-3: decided for this price")

	r := b.request("/schedule?thickness_mm=thick&bag_litres=9")
	if status, body, _ := b.do(r); status != 422 || !strings.Contains(body, `value="thick"`) || !strings.Contains(body, "a number above 0") {
		t.Errorf("a thickness that is none: status %d: %s", status, body)
	}
}

func TestScheduleBeforeAnySurvey(t *testing.T) {
	b := newBrowser(t, newSite(t))
	wantWords(t, b.get(b.page("/schedule")), "survey the floor from above first", "Set up")
}

// The table is what RFC 4180 says, holds numbers as numbers, and no text in it is
// a formula.
func TestScheduleCSV(t *testing.T) {
	b := priced(t)
	resp, err := b.client.Do(b.request("/schedule.csv"))
	must(t, err)
	defer resp.Body.Close()
	if got := resp.Header.Get("Content-Type"); resp.StatusCode != http.StatusOK || got != "text/csv; charset=utf-8; header=present" {
		t.Fatalf("status %d, %s", resp.StatusCode, got)
	}
	body := b.get(b.page("/schedule.csv"))
	if !strings.HasPrefix(body, "\ufeffroom,item,figure,plus_minus,unit,from,which\r\n") || strings.Count(body, "\n") != strings.Count(body, "\r\n") {
		t.Errorf("the lines do not end as RFC 4180 says: %.200q", body)
	}
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(body, "\ufeff"))).ReadAll()
	must(t, err)
	found := map[string][]string{}
	for _, row := range rows[1:] {
		if row[0] == "the whole house" {
			found[row[1]] = row
		}
		for i, cell := range row {
			if number := i == 2 || i == 3; !number && strings.IndexAny(cell, "=+-@") == 0 {
				t.Errorf("%q may be taken for a formula", cell)
			}
		}
	}
	for item, want := range map[string][2]string{"lift in all": {"16.0", "mm"}, "stumps to pack": {"1", "no."}, "area of floor cuts without an outline": {"", "m²"}} {
		if got := found[item]; got == nil || got[2] != want[0] || got[4] != want[1] {
			t.Errorf("%s = %q, want %q", item, got, want)
		}
	}
	if diff := cmp.Diff(`'+waste, "old"`, found["ties, @plumber"][6]); diff != "" {
		t.Errorf("which ties (-want +got):\n%s", diff)
	}
	if status, _, _ := b.do(b.request("/schedule.csv?" + url.Values{"thickness_mm": {"-1"}}.Encode())); status != 422 {
		t.Errorf("a table with a thickness below nought: status %d", status)
	}
}
