package server_test

import (
	"net/http"
	"strings"
	"testing"

	"relevel/jobs"
)

// What each aim would cost, over the API and on the page.
func TestChoices(t *testing.T) {
	b := newBrowser(t, newSite(t))
	if page := b.get(b.page("/choices")); !strings.Contains(page, "there is nothing to compare yet") {
		t.Error("a floor that nobody read has choices")
	}
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1000), d.reading(setup, "B1-2", 1012))

	var got struct {
		Choices []jobs.Choice `json:"choices"`
	}
	path := "/jobs/" + b.job.String() + "/choices"
	b.caller.get(path+"?margin_mm=1", &got)
	if len(got.Choices) == 0 || got.Choices[0].SetBy != "B1-1" || got.Choices[0].Cost.GreatestMM != 12 {
		t.Errorf("%+v", got.Choices)
	}
	b.caller.send(http.MethodGet, path+"?margin_mm=wide", nil).problem(t, http.StatusUnprocessableEntity, "margin_mm")

	page := b.get(b.page("/choices?choice=highest"))
	for _, words := range []string{"Up to the highest", "Agree this aim", "Local codes and licensed people decide"} {
		if !strings.Contains(page, words) {
			t.Errorf("the page does not say %q", words)
		}
	}
}
