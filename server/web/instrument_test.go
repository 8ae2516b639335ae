package web

import (
	"net/url"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

// A check is asked for one sort at a time, says how it is done, and leads to
// the other.
func TestFormOfOneSort(t *testing.T) {
	form, _ := FormOf(events.KindInstrumentCheck)
	for _, tt := range []struct{ sort, asks, not, help, other string }{
		{"two-peg", "mid.a", "distance_m", "NAVEDTRA 14070", "sort=half-turn"},
		{"half-turn", "distance_m", "mid.a", "turn the laser half round", "sort=two-peg"},
		{"something", "off.to_b_m", "difference", "Two pegs", "sort=half-turn"}, // as the usual one
	} {
		page := RecordPage{Frame: Frame{Job: &jobs.Job{}}, Form: form.Of(tt.sort), Back: "/jobs/x", Values: url.Values{}}
		text := rendered(t, page)
		for _, want := range []string{`name="` + tt.asks + `"`, tt.help, tt.other} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: the form lacks %q", tt.sort, want)
			}
		}
		if strings.Contains(text, `name="`+tt.not+`"`) {
			t.Errorf("%s: the form asks for %s", tt.sort, tt.not)
		}
	}
}

// A set-up offers the instruments that are known, and says how each was checked.
func TestSetupSaysChecks(t *testing.T) {
	form, _ := FormOf(events.KindSetup)
	sources := floor()
	sources.Picture.Instruments = []jobs.Instrument{
		{Name: "laser 1", Check: "two-peg checked 2 Mar: 0.06 mm per m up"},
		{Name: "laser 2", Check: "its check was good until 1 Mar: check it again", Due: true},
	}
	page := RecordPage{Frame: Frame{Job: &jobs.Job{}}, Form: form, Sources: sources, Values: url.Values{}, Instruments: sources.Picture.Instruments}
	text := rendered(t, page)
	for _, want := range []string{
		`<option value="laser 2">`, `<p class="note">Laser 1: two-peg checked 2 Mar: 0.06 mm per m up.`,
		`<p class="caution">Laser 2: its check was good until 1 Mar: check it again.`, "/record/instrument-check?back=",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the form lacks %q: %s", want, text)
		}
	}
}

func TestChoiceOfSetupSaysItsCheck(t *testing.T) {
	sources := Sources{Picture: jobs.Picture{Setups: []jobs.Setup{{Instrument: "laser 2", CheckDue: true}, {Instrument: "laser 1"}}}}
	choices := sources.Choices(FromSetups)
	if !strings.Contains(choices[0].Label, "its check is out of date") || strings.Contains(choices[1].Label, "check") {
		t.Errorf("%+v", choices)
	}
}

func rendered(t *testing.T, page RecordPage) string {
	t.Helper()
	text, err := Render(page)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
