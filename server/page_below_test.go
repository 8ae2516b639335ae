package server_test

import (
	"html"
	"net/url"
	"strings"
	"testing"
)

// A shortage of vents is offered as a finding; that stands at the supports it
// explains and among the causes, with what closed it.
func TestShortageBecomesAFinding(t *testing.T) {
	const offered = "Record it as a finding"
	b := newBrowser(t, newSite(t))
	b.saved("under-floor", "", url.Values{"airing.rule": {"uk-c"}, "airing.wall_m": {"30"}, "airing.floor_m2": {"50"}, "clearance_mm": {"120"},
		"moisture[0].support": {"B1-2"}, "moisture[0].where": {"bearer"}, "moisture[0].pct": {"18"}})
	page := b.get(b.page(""))
	says(t, page, "nobody counted", "UK Approved Document C", "120 mm of room is under the usual 150 mm")
	if strings.Contains(page, offered) {
		t.Error("nobody counted the vents, and they are short")
	}
	b.saved("under-floor", "", url.Values{"airing.rule": {"uk-c"}, "airing.wall_m": {"30"}, "airing.floor_m2": {"50"}, "airing.vents_mm2": {"9000, 9000"}})
	page = b.get(b.page(""))
	says(t, page, "27\u2009000", "Too few vents", offered)
	_, link, _ := strings.Cut(page, `/record/finding?what`)
	link, _, _ = strings.Cut("?what"+link, `"`)
	form := b.get(b.page("/record/finding" + html.UnescapeString(link)))
	says(t, form, `value="too few vents"`, `value="missing or covered vents"`, `<option value="a load with no support under it">`, `<option value="rot">`, `<option value="a support that sank">`)
	b.saved("finding", "", url.Values{"what": {"too few vents"}, "cause": {"missing or covered vents"}, "supports": {"B1-2"}})
	page = b.get(b.page(""))
	says(t, page, "Why it dropped", "Too few vents (missing or covered vents)", `<b class="danger">open</b>`)
	if strings.Contains(page, offered) {
		t.Error("it is a finding, and still offered as one")
	}
	says(t, b.get(b.page("/supports/B1-2")), "It sank because: too few vents (missing or covered vents); ", "it may drop again", "Bearer at 18 % of moisture")
	b.saved("finding-closed", "", url.Values{"finding": {optionOf(t, b.get(b.page("/record/finding-closed")), "too few vents")}, "how": {"two vents cut"}})
	for _, path := range []string{"", "/supports/B1-2"} {
		says(t, b.get(b.page(path)), "closed: two vents cut")
	}
	says(t, b.get(b.page("/records")), "Under the floor", "two vents cut")
}
