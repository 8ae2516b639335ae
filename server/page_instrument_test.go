package server_test

import (
	"net/url"
	"strings"
	"testing"
)

// A check is recorded on its form, either way, and stands in the book; one that
// makes no sense says beside which input.
func TestPagesCheckAnInstrument(t *testing.T) {
	b := newBrowser(t, newSite(t))
	pegs := url.Values{"instrument": {"laser"}, "mid.a": {"1000"}, "mid.b": {"1100"}, "off.a": {"1002"}, "off.b": {"1100.2"}, "off.to_a_m": {"33"}, "off.to_b_m": {"3"}}
	b.saved("instrument-check", "", pegs)
	b.saved("instrument-check", "?sort=half-turn", url.Values{"instrument": {"laser"}, "distance_m": {"30"}, "difference": {"3"}})
	book := b.get(b.page("/book"))
	for _, want := range []string{"laser; two-peg: 0.06 mm per m up", "laser; half-turn: 0.05 mm per m along that line"} {
		if !strings.Contains(book, want) {
			t.Errorf("the book lacks %q: %s", want, book)
		}
	}
	if list := b.get(b.page("/records")); !strings.Contains(list, "half-turn: 0.05 mm per m along that line") {
		t.Errorf("the records lack the half-turn: %s", list)
	}
	pegs.Set("off.to_b_m", "33")
	status, body, _ := b.record("instrument-check", "", pegs)
	if status != 422 || !strings.Contains(body, "equal sights show no error") || strings.Contains(body, `name="distance_m"`) {
		t.Errorf("equal sights: status %d: %s", status, body)
	}
}

// Whoever sets up sees how the instrument was last checked; and whoever reads on
// it sees that its check is out of date, and is led to a new one.
func TestPagesSayWhenACheckIsOutOfDate(t *testing.T) {
	b := newBrowser(t, newSite(t))
	due := "check was good until 1 Mar 2020: check it again"
	b.saved("instrument-check", "?sort=half-turn", url.Values{"instrument": {"laser"}, "distance_m": {"30"}, "difference": {"3"}, "on": {"2020-01-31"}, "good_until": {"2020-03-01"}})
	if form := b.get(b.page("/record/setup")); !strings.Contains(form, due) {
		t.Errorf("the form of a set-up lacks %q: %s", due, form)
	}
	b.saved("setup", "", url.Values{"instrument": {"laser"}, "datums[0].staff": {"1000"}})
	form := b.get(b.page("/record/reading"))
	for _, want := range []string{due, "its check is out of date", "/record/instrument-check?back="} {
		if !strings.Contains(form, want) {
			t.Errorf("the form of a reading lacks %q: %s", want, form)
		}
	}
	if job := b.get(b.page("")); !strings.Contains(job, due) {
		t.Errorf("the page of the job lacks %q", due)
	}
}
