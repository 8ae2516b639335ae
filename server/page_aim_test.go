package server_test

import (
	"net/url"
	"strings"
	"testing"

	"relevel/events"
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
	for _, words := range []string{"Level enough?", "outside, by the limits agreed", "12 mm of 6", "agreed at the kitchen table"} {
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
