package server_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
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

// choicesFloor is a bearer whose end lies 40 mm down, with limits agreed and a
// cap on it, and a profile of the firm's own.
func choicesFloor(t *testing.T, caps string) *browser {
	b := newBrowser(t, newSite(t))
	b.sent("/profiles", filled(nil), 200)
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1000), d.reading(setup, "B1-2", 1040))
	b.saved("aim", "", url.Values{"aim": {"highest"}, "agreed_by": {"the owner"}, "caps": {caps}, "tolerance.source": {"the kitchen table"},
		"tolerance.limits[0].limit_mm": {"6"}, "tolerance.limits[0].over_m": {"2"}, "tolerance.limits[0].kind": {"pair"}, "tolerance.limits[0].rule": {"flat"}})
	return b
}

// choicesOf are the choices over the API by the names that pages use.
func (b *browser) choicesOf(margin string) map[string]jobs.Choice {
	var got struct{ Choices []jobs.Choice }
	b.caller.get("/jobs/"+b.job.String()+"/choices?margin_mm="+margin, &got)
	by := map[string]jobs.Choice{}
	for _, c := range got.Choices {
		key := string(c.Aim)
		if c.Aim == events.AimLeast {
			key += "-" + c.Profile
		}
		by[key] = c
	}
	return by
}

// row is the table row of a page that begins with a name.
func row(t *testing.T, page, name string) string {
	t.Helper()
	_, rest, found := strings.Cut(page, name)
	if !found {
		t.Fatalf("no row %s", name)
	}
	cells, _, _ := strings.Cut(rest, "</tr>")
	return cells
}

// What each profile would say afterwards, of every choice: over the API and in
// the table, the firm's own among them.
func TestChoicesVerdictTable(t *testing.T) {
	b := choicesFloor(t, "")
	by := b.choicesOf("")
	want := map[string]map[string]levelling.Verdict{
		"highest":        {"": levelling.Within, "old-house": levelling.Within, "nsw-2017-new": levelling.Within, "mbie-canterbury": levelling.NotIndicated},
		"least-":         {"": levelling.Within, "old-house": levelling.Within, "nsw-2017-new": levelling.Outside},
		"least-nz-1-200": {"": levelling.Outside, "nz-1-200": levelling.Within, "nsw-2017-new": levelling.Outside},
	}
	for key, verdicts := range want {
		c, there := by[key]
		if !there {
			t.Fatalf("no choice %s", key)
		}
		said := map[string]levelling.Verdict{}
		for _, v := range c.After {
			if _, asked := verdicts[v.Profile]; asked {
				said[v.Profile] = v.Verdict
			}
		}
		if diff := cmp.Diff(verdicts, said); diff != "" {
			t.Errorf("%s (-want +got):\n%s", key, diff)
		}
	}
	_, table, _ := strings.Cut(b.get(b.page("/choices")), `<section id="profiles"`)
	for name, cells := range map[string][]string{
		`>Old houses &amp; barns<span class="note source">agreed since 2019`:                                             {"<td>within</td>"},
		`>the limits agreed<span class="note source">the kitchen table`:                                                  {"<td>within</td>", `<td class="out">outside</td>`},
		`>New Zealand MBIE Canterbury guidance, when re-levelling is indicated<span class="note source">MBIE, Repairing`: {"<td>not indicated</td>"},
	} {
		line := row(t, table, name)
		if n := strings.Count(line, "<td"); n != len(by) {
			t.Errorf("%s: %d verdicts for %d choices", name, n, len(by))
		}
		for _, cell := range cells {
			if !strings.Contains(line, cell) {
				t.Errorf("%s: no %s in %s", name, cell, line)
			}
		}
	}
}

// The chain of limits stands over the picture, and the firm's own profile is
// agreed by its name.
func TestChoicesChain(t *testing.T) {
	b := choicesFloor(t, "")
	page := b.get(b.page("/choices?choice=least-&margin_mm=1"))
	if want := "B1-1 stays; B1-2 may lie at most 5 mm below B1-1 (2 m), the margin off; so B1-2 comes up 35 mm."; !strings.Contains(page, want) {
		t.Errorf("the page does not say %q", want)
	}
	if chain := b.choicesOf("1")["least-"].Chain; len(chain) != 1 || chain[0].LimitMM != 5 || chain[0].From != "B1-1" {
		t.Errorf("%+v", chain)
	}
	page = b.get(b.page("/choices?choice=least-old-house"))
	if !strings.Contains(page, "B1-2 may lie at most 8 mm below B1-1 (2 m)") || !strings.Contains(page, "tolerance.profile=old-house") {
		t.Error("the firm's own profile has no chain, or the way to agree it does not name it")
	}
	if strings.Contains(b.get(b.page("/choices?choice=least-")), "tolerance.profile=") {
		t.Error("limits that stand in the aim are lost on the way to its form")
	}
}

// A target that cannot be met says why and what it would take, and promises no
// verdict.
func TestChoicesThatCannotBeMet(t *testing.T) {
	b := choicesFloor(t, "B1-2 9")
	c := b.choicesOf("")["least-"]
	if !strings.Contains(c.Why, "B1-2") || len(c.After) == 0 || c.After[0].Verdict != "" {
		t.Errorf("%+v", c)
	}
	page := b.get(b.page("/choices?choice=least-"))
	for _, words := range []string{"It cannot be met: ", "so B1-2 would have to come up 34 mm.", "<td>cannot be met</td>"} {
		if !strings.Contains(page, words) {
			t.Errorf("the page does not say %q", words)
		}
	}
	if strings.Contains(row(t, page, `choice=least-nz-1-200`), "within") {
		t.Error("a verdict of what cannot be")
	}
}

// A margin that uses up a limit drops no line of the table, and there is
// nothing of it to agree.
func TestChoicesMarginTooWide(t *testing.T) {
	b := choicesFloor(t, "")
	if narrow, wide := b.choicesOf("0"), b.choicesOf("6"); len(narrow) != len(wide) || wide["least-"].Why != "a margin of 6 mm leaves nothing of a limit of 6 mm" || wide["least-"].Lifts == nil {
		t.Errorf("%d choices with a margin, %d without: %+v", len(wide), len(narrow), wide["least-"])
	}
	page := b.get(b.page("/choices?choice=least-&margin_mm=6"))
	if n := strings.Count(page, " margin of 6 mm leaves nothing of a limit of 6 mm"); n != 2 {
		t.Errorf("the page says so %d times, want in the table and above", n)
	}
	if strings.Contains(page, "Agree this aim") || strings.Contains(page, "Plan with each lift") {
		t.Error("there is something to agree")
	}
}
