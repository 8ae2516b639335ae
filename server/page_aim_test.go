package server_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/levelling"
)

// An aim is chosen by what it costs, agreed on its form, and judged on the page
// of the job.
func TestPagesAgreeTheLeastLift(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1000), d.reading(setup, "B1-2", 1012))
	b.saved("aim", "", url.Values{"aim": {"highest"}, "step_mm": {"5"}, "agreed_by": {"the owner"},
		"tolerance.limits[0].limit_mm": {"6"}, "tolerance.limits[0].over_m": {"2"}, "tolerance.limits[0].kind": {"pair"}, "tolerance.limits[0].rule": {"flat"}})

	page := b.get(b.page("/choices?choice=least-&margin_mm=1"))
	_, link, _ := strings.Cut(page, `<a class="act main" href="`)
	link, _, _ = strings.Cut(link, `"`)
	form := b.get(strings.ReplaceAll(link, "&amp;", "&"))
	for _, words := range []string{`<option value="least" selected>`, `name="margin_mm" class="figures" inputmode="decimal" autocomplete="off" value="1"`,
		`name="step_mm" class="figures" inputmode="decimal" autocomplete="off" value="5"`, `name="tolerance.limits[0].limit_mm" class="figures" inputmode="decimal" autocomplete="off" value="6"`} {
		if !strings.Contains(form, words) {
			t.Errorf("the form is not filled in with %s", words)
		}
	}
	b.saved("aim", "", url.Values{"aim": {"least"}, "margin_mm": {"1"}, "agreed_by": {"the owner"}, "tolerance.source": {"agreed at the kitchen table"},
		"tolerance.limits[0].limit_mm": {"6"}, "tolerance.limits[0].over_m": {"2"}, "tolerance.limits[0].kind": {"pair"}, "tolerance.limits[0].rule": {"flat"}})
	s, _ := b.caller.state(b.job).Support("B1-2")
	if s.Target == nil || *s.Target > -4.9 || *s.Target < -5.1 {
		t.Errorf("target %v, want −5: 6 less 1 below B1-1", s.Target)
	}
	job := b.get(b.page(""))
	for _, words := range []string{"Level enough?", "outside, by the limits agreed", "12 mm of 6", "Agreed at the kitchen table"} {
		if !strings.Contains(job, words) {
			t.Errorf("the page of the job does not say %q", words)
		}
	}
}

// What was typed stays when something is wrong with it.
func TestPagesKeepAnAimThatIsWrong(t *testing.T) {
	b := newBrowser(t, newSite(t))
	status, body, _ := b.record(string(events.KindAim), "", url.Values{"aim": {"plane"}, "caps": {"B1-1 4"}, "agreed_by": {"the owner"}})
	for _, words := range []string{"the slope to keep", `value="B1-1 4"`, `<option value="plane" selected>`} {
		if status != 422 || !strings.Contains(body, words) {
			t.Errorf("status %d, and the form does not say %q", status, words)
		}
	}
}

// agreedAgain is the form of the aim as it opens, filled in as it stands.
func (b *browser) agreedAgain(change url.Values) (status int, body string) {
	form := url.Values{"aim": {"highest"}, "agreed_by": {"the owner"}}
	for name, values := range change {
		form[name] = values
	}
	status, body, _ = b.record("aim", "", form)
	return status, body
}

// A profile of the firm's own is chosen by its name and stands in the aim in
// full: what the firm calls by that name later changes nothing, and the verdict
// names it with its source.
func TestAimByTheFirmsOwnProfile(t *testing.T) {
	b := newBrowser(t, newSite(t))
	form := b.get(b.page("/record/aim"))
	if !strings.Contains(form, `<a class="word" href="/profiles">Add what your firm calls level enough</a>`) || strings.Contains(form, "the firm’s own") {
		t.Error("a firm without profiles: no way to add one, or one is offered")
	}
	b.sent("/profiles", filled(nil), 200)
	if !strings.Contains(b.get(b.page("/record/aim")), `<option value="old-house">Old houses &amp; barns, the firm’s own</option>`) {
		t.Error("the form does not offer it")
	}
	b.saved("aim", "", url.Values{"aim": {"highest"}, "tolerance.profile": {"old-house"}, "tolerance.within_mm": {"4"}, "agreed_by": {"the owner"}})
	want := events.Tolerance{Profile: "old-house", Title: "Old houses & barns", Source: "agreed since 2019", WithinMM: 4,
		Limits: []events.Limit{{Kind: levelling.PairLimit, OverM: 2, LimitMM: 8, Rule: levelling.Proportional}, {Kind: levelling.RangeLimit, LimitMM: 22.5}}}
	if diff := cmp.Diff(want, b.caller.state(b.job).Aim.Agreed.Tolerance); diff != "" {
		t.Errorf("the aim (-want +got):\n%s", diff)
	}
	form = b.get(b.page("/record/aim"))
	for _, words := range []string{`<option value="old-house" selected>`, "Agreed now: Old houses &amp; barns", "Highest less lowest at most 22.5 mm", "Agreed since 2019"} {
		if !strings.Contains(form, words) {
			t.Errorf("agreed again, the form does not say %q", words)
		}
	}
	if strings.Contains(form, `value="22.5"`) || strings.Contains(form, asAgreed) {
		t.Error("agreed again, the form says it twice")
	}

	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1000), d.reading(setup, "B1-2", 1040))
	b.sent("/profiles", filled(url.Values{"pairs[0].limit_mm": {"80"}, "room.limit_mm": {"90"}}), 200)
	job := b.get(b.page(""))
	for _, words := range []string{"outside, by Old houses &amp; barns", "40 mm of 8", "Agreed since 2019"} {
		if !strings.Contains(job, words) {
			t.Errorf("the page of the job does not say %q", words)
		}
	}
	form = b.get(b.page("/record/aim"))
	kept := optionOf(t, form, "Old houses &amp; barns, as agreed")
	if !strings.HasPrefix(kept, asAgreed) || !strings.Contains(form, `<option value="`+kept+`" selected>`) {
		t.Errorf("what was agreed is not what is chosen: %s", kept)
	}
	b.saved("aim", "", url.Values{"aim": {"highest"}, "tolerance.profile": {kept}, "tolerance.within_mm": {"4"}, "agreed_by": {"the owner"}})
	if diff := cmp.Diff(want, b.caller.state(b.job).Aim.Agreed.Tolerance); diff != "" {
		t.Errorf("agreed again, the aim (-want +got):\n%s", diff)
	}
	if status, body := b.agreedAgain(url.Values{"tolerance.profile": {kept}}); status != http.StatusUnprocessableEntity || !strings.Contains(body, "another aim was agreed meanwhile") {
		t.Errorf("as agreed before the last time: %d", status)
	}
}

// asAgreed begins the choice that keeps what the form's rows cannot show.
const asAgreed = "as agreed "

// Limits with tables are shown in words and stay when the aim is agreed again.
func TestAimKeepsTables(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	b.caller.post(b.job, d.raw("aim", `{"aim":"highest","agreed_by":"the owner","tolerance":{"source":"the engineer’s letter","within_mm":3,"limits":[
		{"kind":"pair","over_m":4,"rule":"bands","table":[[1,3],[4,9]]},{"kind":"range","limit_mm":15}]}}`))
	want := b.caller.state(b.job).Aim.Agreed.Tolerance
	form := b.get(b.page("/record/aim"))
	for _, words := range []string{"Agreed now: limits of its own", "<li>Two points at most 4 m apart: at most 3 mm up to 1 m, 9 mm up to 4 m</li>", "<li>Highest less lowest at most 15 mm</li>", "The engineer’s letter"} {
		if !strings.Contains(form, words) {
			t.Errorf("the form does not say %q", words)
		}
	}
	kept := optionOf(t, form, "The limits agreed now")
	b.saved("aim", "", url.Values{"aim": {"least"}, "tolerance.profile": {kept}, "tolerance.within_mm": {"3"}, "margin_mm": {"1"}, "agreed_by": {"the owner"}})
	got := b.caller.state(b.job).Aim.Agreed
	if diff := cmp.Diff(want, got.Tolerance); diff != "" || got.Aim != events.AimLeast {
		t.Errorf("%s (-before +after):\n%s", got.Aim, diff)
	}
}

// What does not go together stands at its input, and nothing is saved.
func TestAimProfileRefused(t *testing.T) {
	row := func(more url.Values) url.Values {
		more["tolerance.limits[0].limit_mm"], more["tolerance.limits[0].over_m"] = []string{"6"}, []string{"2"}
		more["tolerance.limits[0].kind"], more["tolerance.limits[0].rule"] = []string{"pair"}, []string{"flat"}
		return more
	}
	tests := map[string]struct {
		form url.Values
		cure string
	}{
		"OwnAndLimits":       {row(url.Values{"tolerance.profile": {"old-house"}}), "one of the two: a profile, or limits of your own below"},
		"PublishedAndLimits": {row(url.Values{"tolerance.profile": {"nahb"}}), "one of the two: a profile, or limits of your own below"},
		"Unknown":            {url.Values{"tolerance.profile": {"barn"}}, "one of the list"},
		"NothingAgreed":      {url.Values{"tolerance.profile": {asAgreed + "3"}}, "another aim was agreed meanwhile"},
		"MarginOfOwn":        {url.Values{"aim": {"least"}, "tolerance.profile": {"old-house"}, "margin_mm": {"8"}}, "less than 8 mm, the narrowest limit"},
		"MarginOfPublished":  {url.Values{"aim": {"least"}, "tolerance.profile": {"nsw-2017-new"}, "margin_mm": {"4"}}, "less than 4 mm, the narrowest limit"},
	}
	b := newBrowser(t, newSite(t))
	b.sent("/profiles", filled(nil), 200)
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			status, body := b.agreedAgain(test.form)
			if status != http.StatusUnprocessableEntity || !strings.Contains(body, test.cure) {
				t.Errorf("status %d, and no %q", status, test.cure)
			}
		})
	}
	if b.caller.state(b.job).Aim != nil {
		t.Error("something was agreed")
	}
}
