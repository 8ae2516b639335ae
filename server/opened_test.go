package server_test

import (
	"strings"
	"testing"
)

// A page about all records shows what came since it was looked at last, and what was
// voided since then as void.
func TestOpenedGoesOn(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	d.by = b.person
	id, tie := d.event("tie", `{"tie":"gas","what":"gas pipe","where":"by the hearth","supports":["B1-1"]}`)
	b.caller.post(b.job, tie)
	if page := b.get(b.page("/ties")); !strings.Contains(page, "gas pipe") {
		t.Fatalf("no tie: %s", page)
	}
	b.caller.post(b.job, d.raw("tie", `{"tie":"waste","what":"drain","where":"the bath","supports":["B1-2"]}`))
	if page := b.get(b.page("/ties")); !strings.Contains(page, "gas pipe") || !strings.Contains(page, "drain") {
		t.Errorf("not both ties: %s", page)
	}
	b.caller.post(b.job, d.raw("void", `{"event":"`+id.String()+`","why":"another house"}`))
	if page := b.get(b.page("/ties")); strings.Contains(page, "by the hearth") || !strings.Contains(page, "drain") {
		t.Errorf("what was voided since counts: %s", page)
	}
}
