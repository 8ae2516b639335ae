package server_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"
)

// The hand-over begins with what is recorded and never with a reading, says what
// is missing and blocks nothing; after it stand what was read before the owner
// and the visits to come.
func TestHandoverPage(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	id, reading := d.event("reading", fmt.Sprintf(`{"setup":%q,"point":"B1-1","face":"floor","staff":1002}`, setup))
	b.caller.post(b.job, raw, reading, d.raw("aim", `{"aim":"highest","left_out":["B1-2"],"left_out_why":[{"support":"B1-2","why":"the hearth"}],"agreed_by":"the owner"}`),
		d.raw("tie", `{"tie":"waste","what":"waste pipe"}`), d.raw("finding", `{"what":"leaking gutter"}`))
	wantWords(t, b.get(b.page("/handover")), "Missing before it", "It blocks nothing", "Sign", "What it begins with", "B1-2: the hearth", "waste", "leaking gutter: not mended", "Come back on", "Hand over")
	form := b.get(b.page("/record/handover"))
	wantWords(t, form, `value="`+time.Now().Format("2006"), "B1-2: the hearth", `value="waste"`, "leaking gutter: not mended, it may drop again")
	if filled := hidden(form); filled.Get("owners_places[0].reading") != "" {
		t.Error("a reading was filled in: the owner picks the places")
	}
	yesterday := time.Now().AddDate(0, 0, -1).Format(time.DateOnly)
	b.saved("handover", "", url.Values{"date": {yesterday}, "present": {"the owner"}, "left_out": {"the hearth"}, "come_back": {yesterday + ", 2999-01-01"},
		"owners_places[0].point": {"B1-1"}, "owners_places[0].reading": {fmt.Sprint(id)}})
	page := b.get(b.page("/handover"))
	wantWords(t, page, "Recorded", "Present", "the owner", "Left out", "the hearth", "Ties not back", "none", "Places the owner picked", "B1-1", "−2 mm, read", "Coming back", "Nothing was read for it", "1 January 2999", "To come", "Still missing", "Hand over again")
	if strings.Contains(page, "What it begins with") {
		t.Error("what a hand-over begins with stands there after it")
	}
}
