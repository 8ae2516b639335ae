package server_test

import (
	"encoding/json"
	"net/url"
	"slices"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

// Jacks over the API: the newest of a name, with what is to be said of it.
func TestJacks(t *testing.T) {
	c := newSite(t).firm("Level Best")
	id := newID(t).String()
	for range 2 {
		c.send("POST", "/jacks", []byte(`{"id":"`+id+`","name":"bottle 1","rated_kn":98.1,"bore_mm":50,"inspected_on":"2020-01-05","due_on":"2020-07-05"}`)).want(t, 201, nil)
	}
	c.send("POST", "/jacks", []byte(`{"id":"`+id+`","name":"bottle 1","rated_kn":50}`)).problem(t, 409, "")
	c.send("POST", "/jacks", []byte(`{"name":"screw","rated_kn":0}`)).problem(t, 422, "rated_kn")
	c.send("POST", "/jacks", []byte(`{"name":"screw","rated_kn":50,"stolen":true}`)).problem(t, 422, "stolen")
	c.send("POST", "/jacks", []byte(`{"name":"screw","rated_kn":50,"due_on":"soon"}`)).problem(t, 422, "due_on")
	var got struct {
		Jacks []struct {
			jobs.Jack
			Due string
		}
	}
	c.get("/jacks", &got)
	if len(got.Jacks) != 1 || got.Jacks[0].Name != "bottle 1" || got.Jacks[0].Due != "its inspection has been overdue since 5 July 2020" {
		t.Errorf("%+v", got.Jacks)
	}
	c.send("POST", "/jacks", []byte(`{"name":"bottle 1","rated_kn":98.1,"gone":true}`)).want(t, 201, nil)
	c.get("/jacks", &got)
	if len(got.Jacks) != 1 || !got.Jacks[0].Gone || got.Jacks[0].Due != "out of use" {
		t.Errorf("%+v, want the newest alone", got.Jacks)
	}
}

// Lasers over the API, as jacks.
func TestLasers(t *testing.T) {
	s := newSite(t)
	c := s.firm("Level Best")
	id := newID(t).String()
	for range 2 {
		c.send("POST", "/lasers", []byte(`{"id":"`+id+`","name":"green","sd_mm_per_m":0.05,"inspected_on":"2020-01-05","due_on":"2021-01-05"}`)).want(t, 201, nil)
	}
	c.send("POST", "/lasers", []byte(`{"id":"`+id+`","name":"green"}`)).problem(t, 409, "")
	c.send("POST", "/lasers", []byte(`{"name":"red","sd_mm_per_m":9}`)).problem(t, 422, "sd_mm_per_m")
	c.send("POST", "/lasers", []byte(`{"sd_mm_per_m":0.1}`)).problem(t, 422, "name")
	var got struct {
		Lasers []struct {
			jobs.Laser
			Due string
		}
	}
	c.get("/lasers", &got)
	if len(got.Lasers) != 1 || got.Lasers[0].SDMMPerM != 0.05 || got.Lasers[0].Due != "its inspection has been overdue since 5 January 2021" {
		t.Errorf("%+v", got.Lasers)
	}
	s.firm("Plumb & Co").get("/lasers", &got)
	if len(got.Lasers) != 0 {
		t.Errorf("another firm sees %+v", got.Lasers)
	}
}

// A laser of the kit is offered on every job, and what is known of it is written
// into its set-ups.
func TestLaserInUse(t *testing.T) {
	b := newBrowser(t, newSite(t))
	b.sent("/kit/lasers", url.Values{"name": {"green"}, "sd_mm_per_m": {"lots"}}, 422, "Not recorded", `value="lots"`)
	b.sent("/kit/lasers", url.Values{"name": {"green"}, "sd_mm_per_m": {"0.05"}, "inspected_on": {"2020-01-05"}, "due_on": {"2021-01-05"}}, 200,
		`href="?laser=green#add-laser">green</a>`, `<span class="danger">Its inspection has been overdue since 5 January 2021.</span>`, ">5 January 2020<")
	b.sent("/kit/lasers", url.Values{"name": {"old red"}, "gone": {"yes"}}, 200, "<span>Out of use.</span>")
	if again := b.get("/kit?laser=green"); !strings.Contains(again, "Record green again") || !strings.Contains(again, `id="laser-due_on" name="due_on" type="date" value="2021-01-05"`) {
		t.Error("the form does not start with what is known of the laser")
	}
	form := b.get(b.page("/record/setup"))
	const overdue = "its inspection has been overdue since 5 January 2021"
	for _, words := range []string{`<option value="green" label="green, ` + overdue + `">`, "Inspect before use: green, " + overdue + "."} {
		if !strings.Contains(form, words) {
			t.Errorf("the form of a set-up does not say %s", words)
		}
	}
	if strings.Contains(form, `value="old red"`) || !strings.Contains(form, "Out of use: old red.") {
		t.Error("a laser that is out of use is offered, or not said to be")
	}
	known := func(typed string) (name string, perM float64) {
		b.saved("setup", "", url.Values{"instrument": {"Green"}, "sd_mm_per_m": {typed}, "datums[0]": {"D1"}, "datums[0].staff": {"1200"}})
		var log struct {
			Events []struct {
				Event struct {
					Kind events.Kind
					Body json.RawMessage
				}
			}
		}
		b.caller.get("/jobs/"+b.job.String()+"/events", &log)
		for _, e := range slices.Backward(log.Events) {
			var body events.Setup
			if e.Event.Kind == events.KindSetup && json.Unmarshal(e.Event.Body, &body) == nil {
				return body.Instrument, body.SDMMPerM
			}
		}
		return "nothing was set up", 0
	}
	if name, perM := known(""); name != "green" || perM != 0.05 {
		t.Errorf("%s with %g per m", name, perM)
	}
	if _, perM := known("0.1"); perM != 0.1 {
		t.Errorf("what was typed became %g", perM)
	}
	if form := b.get(b.page("/record/setup")); strings.Count(form, `<option value="green"`) != 1 {
		t.Error("a laser of the job and of the kit is offered twice")
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
	c.send("POST", "/practice", []byte(`{"neighbour_ratio":0.002}`)).problem(t, 422, "neighbour_ratio")
	c.send("POST", "/practice", []byte(`{"bag_m3":9}`)).problem(t, 422, "bag_m3")
	c.get("/practice", &got)
	if got.StepMM != 3 || len(got.StockMM) != 3 {
		t.Errorf("%+v", got)
	}
}

// A jack is recorded on the page, again when it was inspected, and put out of use;
// a form that was sent before is not taken for another.
func TestKitPage(t *testing.T) {
	b := newBrowser(t, newSite(t))
	if !strings.Contains(b.get("/people"), `href="/kit"`) {
		t.Error("no way from the people to the jacks")
	}
	if page := b.get("/kit"); !strings.Contains(page, "None yet") || !strings.Contains(page, "No rate of lifting is published as safe") {
		t.Error("an empty kit does not say so")
	}
	id := newID(t).String()
	bottle := func(change ...string) url.Values {
		v := url.Values{"id": {id}, "name": {"bottle 1"}, "rated_kn": {"42"}, "bore_mm": {"50"}, "gauge": {"yes"}, "inspected_on": {"2020-01-05"}, "due_on": {"2020-07-05"}}
		for i := 0; i < len(change); i += 2 {
			v.Set(change[i], change[i+1])
		}
		return v
	}
	b.sent("/kit/jacks", bottle("rated_kn", "nine"), 422, "Not recorded", `value="nine"`, "a number, such as 12.5")
	b.sent("/kit/jacks", bottle("due_on", "2019-07-05"), 422, "a date after the inspection, 2020-01-05")
	const overdue = `<span class="danger">Its inspection has been overdue since 5 July 2020.</span>`
	for range 2 {
		b.sent("/kit/jacks", bottle(), 200, `href="?jack=bottle&#43;1#add">bottle 1</a>`, overdue, ">5 January 2020<")
	}
	b.sent("/kit/jacks", bottle("rated_kn", "24"), 409, "Not recorded: this form was sent before with other figures", `value="24"`)
	if again := b.get("/kit?jack=bottle+1"); !strings.Contains(again, "Record bottle 1 again") || !strings.Contains(again, `name="rated_kn" class="figures" inputmode="decimal" autocomplete="off" value="42"`) ||
		!strings.Contains(again, `name="gauge" value="yes" checked`) || !strings.Contains(again, `type="date" value="2020-07-05"`) {
		t.Error("the form does not start with what is known of the jack")
	}
	b.sent("/kit/jacks", bottle("id", newID(t).String(), "gone", "yes"), 200, `<tbody class="gone">`, "<span>Out of use.</span>")
}

// How the firm lifts is set on the page, and stays as it was typed.
func TestPracticePage(t *testing.T) {
	b := newBrowser(t, newSite(t))
	id := newID(t).String()
	b.sent("/kit/practice", url.Values{"step_mm": {"3"}, "jacks": {"two"}}, 422, "Not set", "a whole number")
	b.sent("/kit/practice", url.Values{"neighbour_ratio": {"0.002"}}, 422, "between 1 and 1e&#43;06")
	b.sent("/kit/practice", url.Values{"stock_mm": {"25, thick"}}, 422, `value="25, thick"`, "numbers with commas between them")
	b.sent("/kit/practice", url.Values{"bag_litres": {"9000"}}, 422, `value="9000"`, "how many litres of concrete a bag makes")
	b.sent("/kit/practice", url.Values{"id": {id}, "stock_mm": {"25, 18, 0.8"}, "bag_litres": {"9.2"}, "packing_rule": {"mbie"}, "rest_hours": {"12"}}, 200,
		`name="stock_mm" class="figures" value="25, 18, 0.8"`, `autocomplete="off" value="9.2"`, `<option value="mbie" selected>`, `autocomplete="off" value="12"`)
	b.sent("/kit/practice", url.Values{"id": {id}, "rest_hours": {"24"}}, 409, "Not set: this form was sent before with other figures", `value="24"`)
	var kept jobs.Practice
	if b.caller.get("/practice", &kept); kept.BagM3 != 0.0092 || kept.RestHours != 12 {
		t.Errorf("%+v", kept)
	}
}

// What the firm set fills in the first aim of a job, a jack that was chosen is
// written into the move, and packers come from the stock.
func TestKitInUse(t *testing.T) {
	b := newBrowser(t, newSite(t))
	b.sent("/kit/jacks", url.Values{"name": {"bottle 1"}, "rated_kn": {"42"}, "bore_mm": {"50"}, "inspected_on": {"2020-01-05"}, "due_on": {"2020-07-05"}}, 200)
	b.sent("/kit/jacks", url.Values{"name": {"screw"}, "rated_kn": {"60"}, "gone": {"yes"}}, 200)
	b.sent("/kit/practice", url.Values{"step_mm": {"3"}, "neighbour_mm": {"4"}, "daily_mm": {"9"}, "stock_mm": {"25, 18, 3"}, "max_pieces": {"2"}, "packing_rule": {"mbie"}}, 200)
	form := b.get(b.page("/record/aim"))
	for _, words := range []string{`name="step_mm" class="figures" inputmode="decimal" autocomplete="off" value="3"`, `name="daily_mm" class="figures" inputmode="decimal" autocomplete="off" value="9"`,
		`href="/kit#practice"`, "<summary>Most at one support in a day, mm: 9, Meant on"} {
		if !strings.Contains(form, words) {
			t.Errorf("the first aim does not start with %s", words)
		}
	}

	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1000), d.reading(setup, "B1-2", 1012))
	b.saved("aim", "", url.Values{"aim": {"highest"}, "step_mm": {"30"}, "neighbour_mm": {"30"}, "agreed_by": {"the owner"}})
	form = b.get(b.page("/record/jacking?support=B1-2"))
	const overdue = "its inspection has been overdue since 5 July 2020"
	for _, words := range []string{`<option value="bottle 1" label="bottle 1, 42 kN, ` + overdue + `">`, "Inspect before use: bottle 1, " + overdue + "."} {
		if !strings.Contains(form, words) {
			t.Errorf("the form of a move does not say %s", words)
		}
	}
	if strings.Contains(form, "screw") && strings.Contains(form, "60 kN") {
		t.Error("a jack that is out of use is offered")
	}
	b.saved("jacking", "?support=B1-2", url.Values{"moves[0]": {"B1-2"}, "moves[0].by": {"12"}, "moves[0].gauge": {"rule"}, "moves[0].jack": {"Bottle 1 "}, "moves[0].pressure_mpa": {"20"}})
	b.wantFlag("bottle 1 pushed with about 39 kN (35 to 43), and is marked 42")
	b.saved("reading", "?support=B1-2", url.Values{"face": {"floor"}, "setup": {setup.String()}, "rows[0]": {"B1-2"}, "rows[0].staff": {"1000"}})
	b.saved("packing", "?support=B1-2", url.Values{"support": {"B1-2"}, "sort": {"temporary"}, "gap": {"21"}})
	page := b.get(b.page("/packers"))
	for _, words := range []string{">B1-2<", "18 &#43; 3", "Nothing of you between bearer and support", "none let down yet", "One pile is packed 100 mm at most", "Repairing and rebuilding houses"} {
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

// A jack that nobody put in the kit: what is marked on it is typed with the move,
// and goes before what the kit says of one of that name.
func TestJackByHand(t *testing.T) {
	b := newBrowser(t, newSite(t))
	b.sent("/kit/jacks", url.Values{"name": {"bottle 1"}, "rated_kn": {"98"}, "bore_mm": {"50"}, "inspected_on": {"2026-01-05"}}, 200)
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1000), d.reading(setup, "B1-2", 1012))
	move := func(jack, rated, bore string) url.Values {
		return url.Values{"moves[0]": {"B1-2"}, "moves[0].by": {"1"}, "moves[0].gauge": {"rule"}, "moves[0].jack": {jack}, "moves[0].pressure_mpa": {"20"},
			"moves[0].rated_kn": {rated}, "moves[0].bore_mm": {bore}}
	}
	form := b.get(b.page("/record/jacking?support=B1-2"))
	if !strings.Contains(form, "A jack that is not in the kit") || strings.Contains(form, "Inspect before use") {
		t.Error("a jack of somebody else's has no place on the form, or one that is in date is to be inspected")
	}
	b.saved("jacking", "?support=B1-2", move("lent", "42", "50"))
	b.wantFlag("B1-2: lent pushed with about 39 kN (35 to 43), and is marked 42")
	b.saved("jacking", "?support=B1-2", move("bottle 1", "41", ""))
	b.wantFlag("B1-2: bottle 1 pushed with about 39 kN (35 to 43), and is marked 41")
	if column := b.get(b.page("/record/jacking")); strings.Contains(column, "A jack that is not in the kit") {
		t.Error("a column of places has no room for it")
	}
}

// wantFlag checks that something in the job's book is flagged so.
func (b *browser) wantFlag(words string) {
	b.t.Helper()
	var said []string
	for _, f := range b.caller.state(b.job).Flags {
		if said = append(said, f.Text); strings.Contains(f.Text, words) {
			return
		}
	}
	b.t.Errorf("flags %q, want %q", said, words)
}
