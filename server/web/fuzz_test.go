package web

import (
	"encoding/json"
	"net/url"
	"testing"

	"relevel/events"
)

// Whatever is sent as a filled form becomes bodies that the log's own decoder takes, or
// the names of the inputs that are wrong.
func FuzzBodies(f *testing.F) {
	for i, form := range Forms {
		f.Add(i, "unit=mm")
		for _, field := range form.Fields {
			f.Add(i, field.Name+"=1%2C5&unit=in")
			f.Add(i, field.Name+"=9e999&rows[0]=B1-1&rows[0].staff=1284&supports=B1-1&supports=%00")
		}
	}
	f.Fuzz(func(t *testing.T, which int, query string) {
		values, err := url.ParseQuery(query)
		if err != nil {
			return
		}
		form := Forms[uint(which)%uint(len(Forms))]
		bodies, wrong := form.Bodies(values, floor())
		if len(bodies) > 0 && len(wrong) > 0 {
			t.Errorf("bodies, and these are wrong: %v", wrong)
		}
		for _, b := range bodies {
			if _, err := events.Open(form.Kind, 1, b.JSON); err != nil {
				t.Errorf("a body of %s does not open: %v\n%s", form.Kind, err, b.JSON)
			}
		}
	})
}

// Whatever is typed about the firm's kit and its practice, or asked for in an address, is
// read or named as wrong.
func FuzzTypedKit(f *testing.F) {
	for _, query := range []string{
		"name=J1&rated_kn=50&bore_mm=1%2C5&due_on=2026-02-30", "step_mm=5&stock_mm=1+2+x&jacks=-1", "title=ours&kind=range&limit_mm=NaN",
		"from=9999999999999999999&kind=reading", "due=2026-03-02&to=", "sd_mm_per_m=1e-400",
	} {
		f.Add(query)
	}
	f.Fuzz(func(t *testing.T, query string) {
		values, err := url.ParseQuery(query)
		if err != nil {
			return
		}
		jack, wrong := JackOf(values)
		wantJSON(t, jack, wrong)
		laser, wrong := LaserOf(values)
		wantJSON(t, laser, wrong)
		practice, wrong := PracticeOf(values)
		wantJSON(t, practice, wrong)
		profile, wrong := ProfileOf(values)
		wantJSON(t, profile, wrong)
		ReadBookFilter(values)
		ReadFindingFilter(values)
	})
}

// What is taken can be kept: JSON has no word for what is no number.
func wantJSON(t *testing.T, taken any, wrong Wrong) {
	t.Helper()
	if len(wrong) > 0 {
		return
	}
	if _, err := json.Marshal(taken); err != nil {
		t.Errorf("%T: %v", taken, err)
	}
}

// A record whose body nobody ever saw before is put into its form again without trouble.
func FuzzTyped(f *testing.F) {
	f.Add(0, []byte(`{"setup":"s","point":"B1-2","face":"bearer","staff":{"value":4.21,"unit":"ft"}}`))
	f.Add(3, []byte(`{"moves":[{"support":"B1-1","by":5},7,null],"corners":[[0,0],[1]]}`))
	f.Add(9, []byte(`[`))
	f.Fuzz(func(t *testing.T, which int, body []byte) {
		form := Forms[uint(which)%uint(len(Forms))]
		form.Typed(body, floor())
		form.Again(body)
		again, query := CorrectionOf(events.Event{Kind: form.Kind, Body: body})
		again.Of(query.Get("sort"))
	})
}
