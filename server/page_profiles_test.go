package server_test

import (
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// filled is a form for a profile with one limit of each sort.
func filled(change url.Values) url.Values {
	form := url.Values{"title": {"Old houses & barns"}, "name": {"old-house"}, "source": {"agreed since 2019"},
		"pairs[0].limit_mm": {"8"}, "pairs[0].over_m": {"2"}, "pairs[0].rule": {"proportional"},
		"pairs[1].rule": {"flat"}, "pairs[2].rule": {"flat"}, "room.limit_mm": {"22,5"}}
	for name, values := range change {
		form[name] = values
	}
	return form
}

func TestProfilesPage(t *testing.T) {
	b := newBrowser(t, newSite(t))
	if !strings.Contains(b.get("/firm"), `href="/profiles"`) {
		t.Error("no way from the firm to the profiles")
	}
	page := b.get("/profiles")
	for _, want := range []string{"None yet", "UK NHBC Standards 2020", "3 mm per m between points 2 to 6 m apart", "DIN 18202, Table 2, as quoted second-hand; made for new floors"} {
		if !strings.Contains(page, want) {
			t.Errorf("no %q", want)
		}
	}
	form := filled(url.Values{"id": {hidden(page).Get("id")}})
	for range 2 { // a double press
		b.sent("/profiles", form, 200, "<h3>Old houses &amp; barns</h3>", "old-house: agreed since 2019",
			"Two points at most 2 m apart: at most 8 mm over 2 m, in proportion over less", "Highest less lowest at most 22.5 mm")
	}
	if page := b.get("/profiles"); strings.Count(page, "<h3>Old houses") != 1 || strings.Contains(page, "None yet") {
		t.Error("the one profile is not there once")
	}
}

// A form that was sent, then changed after going back, is not lost: it may be
// added in the place of the first.
func TestProfilesPageSentChanged(t *testing.T) {
	b := newBrowser(t, newSite(t))
	id := newID(t).String()
	b.sent("/profiles", filled(url.Values{"id": {id}}), 200)
	changed := filled(url.Values{"id": {id}, "room.limit_mm": {"31"}})
	_, body, _ := b.post("/profiles", changed)
	b.sent("/profiles", changed, 409, "this form was sent before", `value="31"`)
	changed.Set("id", hidden(body).Get("id"))
	b.sent("/profiles", changed, 200, "Highest less lowest at most 31 mm")
}

// What was typed stays, and what is wrong stands at its input.
func TestProfilesPageRefused(t *testing.T) {
	tests := map[string]struct {
		change      url.Values
		input, cure string
	}{
		"NoName":      {url.Values{"name": {""}}, "name", "missing: a short name"},
		"Published":   {url.Values{"name": {"nahb"}}, "name", "a published profile has that name"},
		"NoTitle":     {url.Values{"title": {""}}, "title", "missing"},
		"NotANumber":  {url.Values{"pairs[0].limit_mm": {"8 or so"}}, "pairs[0].limit_mm", "a number, such as 12.5"},
		"NoLength":    {url.Values{"pairs[0].over_m": {""}}, "pairs[0].over_m", "a length in metres, above 0"},
		"SecondRow":   {url.Values{"pairs[0].limit_mm": {""}, "pairs[0].over_m": {""}, "pairs[2].limit_mm": {"0"}, "pairs[2].over_m": {"3"}}, "pairs[2].limit_mm", "a limit in mm, above 0"},
		"RoomOfMinus": {url.Values{"room.limit_mm": {"-4"}}, "room.limit_mm", "a limit in mm, above 0"},
	}
	b := newBrowser(t, newSite(t))
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			status, body, _ := b.post("/profiles", filled(test.change))
			field := regexp.MustCompile(`<input id="` + regexp.QuoteMeta(test.input) + `"[^>]*aria-invalid="true"[^>]*>[^§]*?<p class="wrong"[^>]*>[^<]*` + regexp.QuoteMeta(test.cure))
			if status != 422 || !field.MatchString(body) {
				t.Errorf("status %d, want 422 and %q at %s: %s", status, test.cure, test.input, body)
			}
			if strings.Count(body, `aria-invalid="true"`) != 1 || !strings.Contains(body, `value="agreed since 2019"`) || !strings.Contains(body, `<option value="proportional" selected>`) {
				t.Error("what was typed is not there, or more is marked than what is wrong")
			}
		})
	}
	b.sent("/profiles", url.Values{"title": {"Nothing"}, "name": {"nothing"}}, 422, "at least one limit")
	if !strings.Contains(b.get("/profiles"), "None yet") {
		t.Error("something was kept")
	}
}

// One firm's profiles are on no other's page.
func TestProfilesPageOfTwoFirms(t *testing.T) {
	s := newSite(t)
	ours, theirs := newBrowser(t, s), newBrowser(t, s)
	theirs.sent("/profiles", filled(nil), 200, "Old houses")
	if strings.Contains(ours.get("/profiles"), "Old houses") {
		t.Error("our page shows theirs")
	}
}
