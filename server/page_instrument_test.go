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
	pegs.Set("off.to_b_m", "33")
	status, body, _ := b.record("instrument-check", "", pegs)
	if status != 422 || !strings.Contains(body, "equal sights show no error") || strings.Contains(body, `name="distance_m"`) {
		t.Errorf("equal sights: status %d: %s", status, body)
	}
}
