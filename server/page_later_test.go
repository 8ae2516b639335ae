package server_test

import (
	"fmt"
	"strings"
	"testing"
)

// A floor that was read over a year and more after its hand-over shows what
// moves, and new pads apart.
func TestPagesAfterTheHandover(t *testing.T) {
	b := newBrowser(t, newSite(t))
	if page := b.get(b.page("")); strings.Contains(page, `id="after"`) {
		t.Error("before the hand-over there is nothing to say")
	}
	d := newDevice(t, b.job)
	d.at = d.at.AddDate(0, 0, -430)
	b.caller.post(b.job, d.raw("support-work", `{"support":"B1-2","step":"poured"}`),
		d.raw("handover", fmt.Sprintf(`{"date":%q,"present":"the owner"}`, d.at.Format("2006-01-02"))))
	for i := range 15 {
		setup, raw := d.setup()
		raws := []string{raw, d.reading(setup, "B1-1", 1000), d.reading(setup, "B1-2", 1000+float64(i))}
		if i > 12 {
			raws = append(raws, d.reading(setup, "S1", 1003))
		}
		b.caller.post(b.job, raws...)
		d.at = d.at.AddDate(0, 0, 30)
	}
	page := b.get(b.page(""))
	_, after, shown := strings.Cut(page, "Since the hand-over")
	if !shown {
		t.Fatal("the job's page does not say what was read since the hand-over")
	}
	rest := after
	for _, words := range []string{
		">B1-1<", "Stable: 0.00 mm a month", "over 420 days", ">S1<", "Too soon to say: 30 days",
		"New pads, which settle first", ">B1-2<", `class="moving"`, "Moving: −1.01 mm a month",
	} {
		var found bool
		if _, rest, found = strings.Cut(rest, words); !found {
			t.Fatalf("no %q in its turn: %.2000s", words, after)
		}
	}
	if own := b.get(b.page("/supports/B1-2")); !strings.Contains(own, "New pad, which settles first. After the job, moving: −1.01 mm a month") {
		t.Error("the support's page does not say that it moves")
	}
}
