package server_test

import (
	"encoding/csv"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"
)

// The kit's page has what is to be inspected first, every record that was ever
// made, and what checks on jobs found.
func TestKitHistory(t *testing.T) {
	b := newBrowser(t, newSite(t))
	for _, body := range []string{`{"name":"a good one","rated_kn":50,"inspected_on":"2026-01-05"}`, `{"name":"bottle","rated_kn":98.1,"inspected_on":"2020-01-05","due_on":"2020-07-05","note":"=first"}`, `{"name":"bottle","rated_kn":90,"inspected_on":"2020-08-05","due_on":"2021-02-05"}`} {
		b.caller.send("POST", "/jacks", []byte(body)).want(t, 201, nil)
		time.Sleep(5 * time.Millisecond) // the newest is known by its millisecond
	}
	b.caller.send("POST", "/lasers", []byte(`{"name":"green","inspected_on":"2026-01-05"}`)).want(t, 201, nil)
	b.caller.post(b.job, newDevice(t, b.job).raw("instrument-check", `{"instrument":"Green","sort":"half-turn","distance_m":10,"difference":2}`))
	page := b.get("/kit")
	for i := 0; !strings.Contains(page, "Checked on jobs"); i++ {
		if i == 100 {
			t.Fatalf("no check on a job: %s", page)
		}
		time.Sleep(50 * time.Millisecond)
		page = b.get("/kit")
	}
	has(t, "the kit", page, "Recorded before", "98.1 kN, inspected 5 January 2020, next by 5 July 2020, =first", "14 Wattle Street", "half-turn: ", "/book?at=2#n2")
	if strings.Index(page, ">bottle<") > strings.Index(page, ">a good one<") {
		t.Error("what is overdue does not stand first")
	}
	r, err := http.NewRequestWithContext(t.Context(), "GET", b.site.URL+"/kit.csv", nil)
	must(t, err)
	_, text, _ := b.do(r)
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil || len(rows) != 4 || rows[1][1] != "bottle" || rows[1][2] != "90" || rows[3][0] != "laser" {
		t.Errorf("%q, %v", rows, err)
	}
}

// A jack that is out of use, overdue or not in the kit is said on the form, and the
// move counts and is flagged in the book.
func TestKitFlagged(t *testing.T) {
	b := newBrowser(t, newSite(t))
	b.caller.send("POST", "/jacks", []byte(`{"name":"old","rated_kn":50,"gone":true,"note":"leaks"}`)).want(t, 201, nil)
	has(t, "the form", b.get(b.page("/record/jacking?support=B1-1")), "Out of use: old.")
	for jack, says := range map[string]string{"Old": "the jack Old: out of use", "borrowed": "the jack borrowed: not in the kit"} {
		status, body, _ := b.record("jacking", "?support=B1-1", url.Values{"moves[0]": {"B1-1"}, "moves[0].by": {"2"}, "moves[0].gauge": {"rule"}, "moves[0].jack": {jack}})
		if status != 200 || !strings.Contains(body, "Recorded and flagged: ") {
			t.Errorf("%s: status %d: %s", jack, status, body)
		}
		if !strings.Contains(strings.ToLower(b.get(b.page("/book"))), strings.ToLower(says)) {
			t.Errorf("the book does not say %q", says)
		}
	}
}

// What somebody wrote is no formula of a spreadsheet.
func TestKitCSVNoFormula(t *testing.T) {
	b := newBrowser(t, newSite(t))
	b.caller.send("POST", "/jacks", []byte(`{"name":"=HYPERLINK(1)","rated_kn":50}`)).want(t, 201, nil)
	r, err := http.NewRequestWithContext(t.Context(), "GET", b.site.URL+"/kit.csv", nil)
	must(t, err)
	if _, text, _ := b.do(r); !strings.Contains(text, "'=HYPERLINK(1)") {
		t.Error(text)
	}
}
