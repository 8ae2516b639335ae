package server_test

import (
	"net/url"
	"strings"
	"testing"

	"relevel/jobs"
)

// Jacks over the API: the newest of a name, with what is to be said of it.
func TestJacks(t *testing.T) {
	c := newSite(t).firm("Level Best")
	id := newID(t).String()
	for range 2 {
		c.send("POST", "/jacks", []byte(`{"id":"`+id+`","name":"bottle 1","rated_kn":98.1,"bore_mm":50,"inspected_on":"2020-01-05","due_on":"2020-07-05"}`)).want(t, 201, nil)
	}
	c.send("POST", "/jacks", []byte(`{"name":"screw","rated_kn":0}`)).problem(t, 422, "rated_kn")
	c.send("POST", "/jacks", []byte(`{"name":"screw","rated_kn":50,"due_on":"soon"}`)).problem(t, 422, "due_on")
	var got struct {
		Jacks []struct {
			jobs.Jack
			Due string
		}
	}
	c.get("/jacks", &got)
	if len(got.Jacks) != 1 || got.Jacks[0].Name != "bottle 1" || got.Jacks[0].Due != "its inspection is overdue since 5 July 2020" {
		t.Errorf("%+v", got.Jacks)
	}
}

// How a firm lifts is empty until somebody sets it.
func TestPractice(t *testing.T) {
	c := newSite(t).firm("Level Best")
	var got jobs.Practice
	c.get("/practice", &got)
	if got.StepMM != 0 || got.DailyMM != 0 || got.NeighbourMM != 0 || got.StockMM != nil {
		t.Errorf("a default of nobody's: %+v", got)
	}
	c.send("POST", "/practice", []byte(`{"step_mm":3,"stock_mm":[25,18,12]}`)).want(t, 201, nil)
	c.send("POST", "/practice", []byte(`{"step_mm":-1}`)).problem(t, 422, "step_mm")
	c.send("POST", "/practice", []byte(`{"stock_mm":[25,0]}`)).problem(t, 422, "stock_mm[1]")
	c.send("POST", "/practice", []byte(`{"packing_rule":"mine"}`)).problem(t, 422, "packing_rule")
	c.get("/practice", &got)
	if got.StepMM != 3 || len(got.StockMM) != 3 {
		t.Errorf("%+v", got)
	}
}

// What the firm set on the page fills in the first aim of a job, a jack that was
// chosen is written into the move, and packers come from the stock.
func TestKitPage(t *testing.T) {
	b := newBrowser(t, newSite(t))
	if !strings.Contains(b.get("/people"), `href="/kit"`) {
		t.Error("no way from the people to the jacks")
	}
	if page := b.get("/kit"); !strings.Contains(page, "None yet") || !strings.Contains(page, "No rate of lifting is published as safe") {
		t.Error("an empty kit does not say so")
	}
	b.sent("/kit/jacks", url.Values{"name": {"bottle 1"}, "rated_kn": {"nine"}}, 422, `value="nine"`, "a number, such as 12.5")
	b.sent("/kit/jacks", url.Values{"name": {"bottle 1"}, "rated_kn": {"42"}, "bore_mm": {"50"}, "inspected_on": {"2020-01-05"}, "due_on": {"2020-07-05"}}, 200, "bottle 1", "its inspection is overdue since 5 July 2020")
	b.sent("/kit/practice", url.Values{"step_mm": {"3"}, "jacks": {"two"}}, 422, "a whole number")
	b.sent("/kit/practice", url.Values{"step_mm": {"3"}, "neighbour_mm": {"4"}, "daily_mm": {"9"}, "stock_mm": {"25, 18, 3"}, "max_pieces": {"2"}}, 200, `name="stock_mm" class="figures" value="25, 18, 3"`)
	form := b.get(b.page("/record/aim"))
	for _, words := range []string{`name="step_mm" class="figures" inputmode="decimal" autocomplete="off" value="3"`, `name="daily_mm" class="figures" inputmode="decimal" autocomplete="off" value="9"`} {
		if !strings.Contains(form, words) {
			t.Errorf("the first aim does not start with %s", words)
		}
	}

	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1000), d.reading(setup, "B1-2", 1012))
	b.saved("aim", "", url.Values{"aim": {"highest"}, "step_mm": {"30"}, "neighbour_mm": {"30"}, "agreed_by": {"the owner"}})
	if !strings.Contains(b.get(b.page("/record/jacking?support=B1-2")), `bottle 1`) {
		t.Error("the jack is not offered")
	}
	b.saved("jacking", "?support=B1-2", url.Values{"moves[0]": {"B1-2"}, "moves[0].by": {"12"}, "moves[0].gauge": {"rule"}, "moves[0].jack": {"bottle 1"}, "moves[0].pressure_mpa": {"20"}})
	flags := b.caller.state(b.job).Flags
	said := ""
	for _, f := range flags {
		said += f.Text + "; "
	}
	if !strings.Contains(said, "pushed with about 39 kN (35 to 43), and is marked 42") {
		t.Errorf("flags: %s", said)
	}
	b.saved("reading", "?support=B1-2", url.Values{"face": {"floor"}, "setup": {setup.String()}, "rows[0]": {"B1-2"}, "rows[0].staff": {"1000"}})
	b.saved("packing", "?support=B1-2", url.Values{"support": {"B1-2"}, "sort": {"temporary"}, "gap": {"21"}})
	page := b.get(b.page("/packers"))
	for _, words := range []string{">B1-2<", "18 &#43; 3", "Nothing of you between bearer and support", "none let down yet"} {
		if !strings.Contains(page, words) {
			t.Errorf("the list for the saw does not say %q", words)
		}
	}
	var got struct{ Packers []jobs.Cutting }
	b.caller.get("/jobs/"+b.job.String()+"/packers", &got)
	if len(got.Packers) != 1 || got.Packers[0].NeedMM != 21 {
		t.Errorf("%+v", got.Packers)
	}
}
