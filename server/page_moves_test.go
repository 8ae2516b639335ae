package server_test

import (
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"relevel/jobs"
)

// says checks that a page says some words.
func says(t *testing.T, page string, words ...string) {
	t.Helper()
	for _, w := range words {
		if !strings.Contains(page, w) {
			t.Errorf("the page does not say %q", w)
		}
	}
}

// From no aim to a round, to one that is tied down.
func TestMovesPage(t *testing.T) {
	b := newBrowser(t, newSite(t))
	says(t, b.get(b.page("/moves")), "No aim is agreed", "Safety check first", "No rate of lifting is published as safe", `data-live="/api/v1/jobs/`+b.job.String()+`/live"`)
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1000), d.reading(setup, "B1-2", 1012))
	b.saved("aim", "", url.Values{"aim": {"highest"}, "agreed_by": {"the owner"}})
	says(t, b.get(b.page("/moves")), "To be set first", "The most that one move may be", "How far neighbours may differ")
	b.saved("aim", "", url.Values{"aim": {"highest"}, "step_mm": {"5"}, "neighbour_mm": {"6"}, "agreed_by": {"the owner"}})
	says(t, b.get(b.page("/moves")), "3 rounds left", "<small>stop at</small> 1\u2009007", "on the floor", "&#43;5 mm", "The rounds after it", "Round 2", `class="order"`, "A framed number is the place", "now 1\u2009012, 5 up")
	says(t, b.get(b.page("")), `href="/jobs/`+b.job.String()+`/moves"`)
	says(t, b.get(b.page("/supports/B1-2")), "Stop at <b>1\u2009007</b> on the floor", "now 1\u2009012, 5 up")
	b.caller.post(b.job, d.raw("setup-closed", `{"setup":"`+setup.String()+`","datums":[{"datum":"D1","staff":1000}]}`))
	says(t, b.get(b.page("/moves")), "No set-up stands, so there is no stop figure")
	b.caller.post(b.job, d.raw("tie", `{"tie":"T1","what":"waste pipe","supports":["B1-2"]}`))
	page := b.get(b.page("/moves"))
	says(t, page, "Nothing is left to move but what waits", "Waste pipe still fixed", `class="waits"`, "What waits stands in a broken frame")
	var got struct {
		Rounds  jobs.Rounds
		Caution string
	}
	b.caller.get("/jobs/"+b.job.String()+"/rounds", &got)
	if len(got.Rounds.Waits) != 1 || got.Rounds.Waits[0].Why != "waste pipe still fixed" || got.Caution == "" {
		t.Errorf("%+v", got)
	}
}

// What moved since it was read is read again first: its stop figure is in pencil,
// and the way to read it stands beside it.
func TestMovesPageReadFirst(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1030), d.reading(setup, "B1-2", 1030))
	b.saved("aim", "", url.Values{"aim": {"level"}, "height": {"0"}, "step_mm": {"5"}, "neighbour_mm": {"6"}, "agreed_by": {"the owner"}})
	if page := b.get(b.page("/moves")); strings.Contains(page, `class="stops expected"`) {
		t.Error("what was read is in pencil")
	}
	b.saved("jacking", "?support=B1-1", url.Values{"moves[0].by": {"5"}, "moves[0].gauge": {"rule"}})
	b.saved("jacking", "?support=B1-2", url.Values{"moves[0].by": {"5"}, "moves[0].gauge": {"rule"}})
	says(t, b.get(b.page("/moves")), `class="stops expected"`, "Read it", `/record/reading?support=B1-1&amp;back=`)
	if page := b.get(b.page("/moves")); strings.Contains(page, "/record/jacking") {
		t.Error("what is to be read first is jacked all the same")
	}
}

// What its bearer carried along is jacked on without a reading in between, and no
// page says that the staff reads there now what nobody has read.
func TestStopFigureInPencil(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, d.raw("plan", `{"supports":[{"id":"B1-1","x":0,"y":0},{"id":"B1-2","x":1.8,"y":0},{"id":"B1-3","x":3.6,"y":0},{"id":"B2-1","x":0,"y":1},{"id":"B2-2","x":1.8,"y":1},{"id":"B2-3","x":3.6,"y":1}],
		"bearers":[{"id":"B1","supports":["B1-1","B1-2","B1-3"],"width_mm":100,"depth_mm":75,"grade":"F17","condition":"sound"},{"id":"B2","supports":["B2-1","B2-2","B2-3"]}],"datums":[{"id":"D1","x":-1,"y":0,"height":0}]}`),
		raw, d.reading(setup, "B1-1", 1030), d.reading(setup, "B1-2", 1030), d.reading(setup, "B1-3", 1030))
	b.saved("aim", "", url.Values{"aim": {"level"}, "height": {"0"}, "step_mm": {"5"}, "neighbour_mm": {"6"}, "agreed_by": {"the owner"}})
	page := b.get(b.page("/supports/B1-2"))
	says(t, page, "Stop at <b>1\u2009025</b> on the floor", "now 1\u2009030, 5 up")
	b.saved("jacking", "?support=B1-1", url.Values{"moves[0].by": {"5"}, "moves[0].gauge": {"rule"}})
	page = b.get(b.page("/supports/B1-2"))
	says(t, page, `Stop at <b class="expected">`, "5 up, from where it is expected")
	if strings.Contains(page, "now 1") {
		t.Error("the page says what the staff reads now, and nobody has read it")
	}
}

// What is pumped together is one form and one event, across bearers too, and each
// support has its own figure and its own stop.
func TestMovesTogether(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, d.raw("plan", `{"supports":[{"id":"B1-1","x":0,"y":0},{"id":"B1-2","x":1.8,"y":0},{"id":"B2-1","x":0,"y":1.5},{"id":"B2-2","x":1.8,"y":1.5}],
		"bearers":[{"id":"B1","supports":["B1-1","B1-2"]},{"id":"B2","supports":["B2-1","B2-2"]}],"datums":[{"id":"D1","x":-1,"y":0,"height":0}]}`),
		raw, d.reading(setup, "B1-1", 1004), d.reading(setup, "B1-2", 1000), d.reading(setup, "B2-1", 1000), d.reading(setup, "B2-2", 1004),
		d.raw("aim", `{"aim":"level","height":0,"step_mm":5,"neighbour_mm":5,"jacks":2,"agreed_by":"the owner"}`))
	page := b.get(b.page("/moves"))
	query := regexp.MustCompile(`/record/jacking(\?support=B1-1&amp;with=B2-2&amp;back=[^"]+)"`).FindStringSubmatch(page)
	if query == nil {
		t.Fatalf("no form for both: %s", page)
	}
	says(t, page, `class="together"`, "Pumped together")
	asked := html.UnescapeString(query[1])
	form := b.get(b.page("/record/jacking" + asked))
	says(t, form, `<span class="whole">B1-1</span>, <span class="whole">B2-2</span>: jack up`, "B1-1: stop at staff <b>1\u2009000</b> on the floor, 4 up", "B2-2: stop at staff", `name="moves[1]" value="B2-2"`, "Others on this bearer")
	if typed := regexp.MustCompile(`name="moves\[\d\]\.by"[^>]* value="([^"]+)"`).FindString(form); typed != "" {
		t.Errorf("a figure is filled in: %s", typed)
	}
	fill := url.Values{"moves[0].by": {"4"}, "moves[0].gauge": {"rule"}, "moves[1].by": {"lots"}, "moves[1].gauge": {"rule"}}
	if status, again, _ := b.record("jacking", asked, fill); status != 422 || strings.Count(again, `name="with" value="B2-2"`) != 1 || !strings.Contains(again, `value="lots"`) {
		t.Errorf("status %d, the form as it was filled in: %s", status, again)
	}
	before := b.caller.state(b.job).Seq
	fill.Set("moves[1].by", "3.5")
	if body := b.saved("jacking", asked, fill); !strings.Contains(body, "What to move next") {
		t.Error("the form does not lead back to the moves")
	}
	p := b.caller.state(b.job)
	if one, _ := p.Support("B1-1"); p.Seq != before+1 || !one.OnJack {
		t.Errorf("%d events, want one; B1-1: %+v", p.Seq-before, one)
	}
	if other, _ := p.Support("B2-2"); !other.OnJack || other.Remaining.MM < 0.2 || other.Remaining.MM > 0.8 {
		t.Errorf("B2-2 has %+v to go on jack %v, want half a millimetre", other.Remaining, other.OnJack)
	}
	if strings.Contains(b.get(b.page("/record/jacking?support=B1-1&with=B9-9&with=B1-1")), `name="with"`) {
		t.Error("what is not on the plan goes with it")
	}
}

// A gap past its limit proposes a stop, which the form then starts with.
func TestProposedStopOnPages(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	b.caller.post(b.job, d.raw("gap-reading", `{"gap":"hall arch","what":"crack","width":2.5,"watch":2,"supports":["B1-2"]}`))
	for _, path := range []string{"", "/moves", "/supports/B1-2"} {
		says(t, b.get(b.page(path)), "Stop and look:", "hall arch is 2.5 mm wide, past its watch limit of 2 mm")
	}
	page := b.get(b.page(""))
	_, link, _ := strings.Cut(page, `<a class="act" href="/jobs/`+b.job.String()+`/record/stop?`)
	link, _, _ = strings.Cut(link, `"`)
	says(t, b.get(b.page("/record/stop?"+strings.ReplaceAll(link, "&amp;", "&"))), "hall arch is 2.5 mm wide", `value="B1-2" checked`)
	b.saved("stop", "", url.Values{"why": {"arch"}, "ask": {"engineer"}, "supports": {"B1-2"}})
	if strings.Contains(b.get(b.page("")), "Stop and look:") {
		t.Error("stopped, and still proposed")
	}
}

// The stop stands above what comes next at the supports it is about, and somebody
// who looked says so in a note that answers it. The gap is measured again by name.
func TestProposedStopIsLookedInto(t *testing.T) {
	const stop = "Stop and look:"
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	b.caller.post(b.job, d.raw("gap-reading", `{"gap":"hall arch","what":"crack","width":0.5,"supports":["B1-2"]}`))
	b.saved("gap-reading", "", url.Values{"gap": {"hall arch"}, "what": {"crack"}, "width": {"1.5"}, "supports": {"B1-2"}})
	page := b.get(b.page("/supports/B1-2"))
	says(t, page, "hall arch grew from class 1 to 2", `/record/stop?why=hall`, `&amp;supports=B1-2`)
	if strings.Index(page, stop) > strings.Index(page, `class="on-drawing"`) {
		t.Error("it stands below what comes next")
	}
	if strings.Contains(b.get(b.page("/supports/B1-1")), stop) {
		t.Error("it is about another support")
	}
	says(t, b.get(b.page("")), "Cracks and gaps", "1 mm wider than at first", "BRE Digest 251")
	says(t, b.get(b.page("/record/gap-reading")), `<option value="hall arch">`)
	_, link, _ := strings.Cut(page, `/record/note?`)
	link, _, _ = strings.Cut(link, `"`)
	b.saved("note", "?"+html.UnescapeString(link), url.Values{"text": {"plaster only"}, "supports": {"B1-2"}})
	if strings.Contains(b.get(b.page("/supports/B1-2")), stop) {
		t.Error("somebody looked, and it is still proposed")
	}
}

// A support that is replaced shows its steps, and what comes next as a button.
func TestReplacementOnPages(t *testing.T) {
	b := newBrowser(t, newSite(t))
	b.saved("support-work", "?support=B1-2", url.Values{"support": {"B1-2"}, "step": {"dug"}})
	says(t, b.get(b.page("/supports/B1-2")), "Have the hole seen by the building surveyor", "step=seen-by-inspector", "Its replacement", "Carries load from a date that somebody sets", "where it has a cap")
	b.saved("inspection", "", url.Values{"who": {"council"}, "stage": {"holes"}, "answer": {"passed"}, "supports": {"B1-2"}})
	says(t, b.get(b.page("/supports/B1-2")), "Pour the pad", "step=poured")
}

// What the bearer says, what a support carries, and what is known from below.
func TestCarryingOnPages(t *testing.T) {
	b := newBrowser(t, newSite(t))
	says(t, b.get(b.page("/supports/B1-2")), "its width and depth are not recorded")
	plan := `{"supports":[{"id":"B1-1","x":0,"y":0},{"id":"B1-2","x":1.8,"y":0},{"id":"B1-3","x":3.6,"y":0},{"id":"B2-1","x":0,"y":1},{"id":"B2-2","x":1.8,"y":1},{"id":"B2-3","x":3.6,"y":1}],
		"bearers":[{"id":"B1","supports":["B1-1","B1-2","B1-3"],"width_mm":100,"depth_mm":75,"grade":"F17","condition":"sound"},{"id":"B2","supports":["B2-1","B2-2","B2-3"]}],"datums":[{"id":"D1","x":-1,"y":0,"height":0}]}`
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, d.raw("plan", plan), raw, d.reading(setup, "B1-2", 1012))
	b.saved("aim", "", url.Values{"aim": {"level"}, "height": {"30"}, "agreed_by": {"the owner"}})
	says(t, b.get(b.page("/supports/B1-2")), "A jack will feel", "watch B1-1 and B1-3", "No engineering design", "What it carries", "HUD Residential Structural Design Guide", "Fill, peat or organic", "Area only")
	b.caller.send("POST", "/jacks", []byte(`{"name":"toy","rated_kn":0.5}`)).want(t, 201, nil)
	b.saved("aim", "", url.Values{"aim": {"level"}, "height": {"30"}, "step_mm": {"5"}, "neighbour_mm": {"50"}, "agreed_by": {"the owner"}})
	says(t, b.get(b.page("/moves")), "the jack then feels about", "Past the 0.5 kN", "watch B1-1 and B1-3")
	var got struct {
		Carrying jobs.Carrying
		Load     jobs.Load
	}
	at := "/jobs/" + b.job.String() + "/supports/"
	b.caller.get(at+"B1-2/carrying", &got)
	if got.Carrying.ForceKN == nil || got.Load.DesignKN <= 0 {
		t.Errorf("%+v", got)
	}
	says(t, b.get(b.page("/supports/B1-2?thickness_mm=300&bag_litres=9")), `value="300"`, "Bags")
	b.caller.send("POST", "/practice", []byte(`{"bag_m3":0.009}`)).want(t, 201, nil)
	says(t, b.get(b.page("/supports/B1-2?thickness_mm=300")), `name="bag_litres" class="figures" inputmode="decimal" autocomplete="off" value="9"`)
	asked, own, theirs := at+"B1-2/carrying?thickness_mm=300&bag_litres=9", at+"B1-2/carrying?thickness_mm=300", struct{ Load jobs.Load }{}
	b.caller.get(asked, &got)
	b.caller.get(own, &theirs)
	if got.Load.Pads[0].Bags == 0 || got.Load.Pads[0].Bags != theirs.Load.Pads[0].Bags {
		t.Errorf("%d bags as asked, %d by what the firm buys", got.Load.Pads[0].Bags, theirs.Load.Pads[0].Bags)
	}
	b.caller.send(http.MethodGet, at+"B1-2/carrying?thickness_mm=thick", nil).problem(t, 422, "thickness_mm")
	b.caller.send(http.MethodGet, at+"B9-9/carrying", nil).problem(t, 404, "")
	b.saved("under-floor", "", url.Values{"ground": {"damp"}, "airing.rule": {"ncc-2022"}, "airing.zone": {"C"}, "airing.wall_m": {"30"}, "airing.vents_mm2": {"9000, 9000"},
		"moisture[0].support": {"B1-2"}, "moisture[0].where": {"bearer"}, "moisture[0].pct": {"29"}})
	says(t, b.get(b.page("")), "Under the floor", "162\u2009000", "NCC 2022", "find the water")
}

// The day's end is asked about what the fold has left.
func TestDayEndStartsWithWhatIsLeft(t *testing.T) {
	b := newBrowser(t, newSite(t))
	b.saved("jacking", "?support=B1-2", url.Values{"moves[0]": {"B1-2"}, "moves[0].by": {"2"}, "moves[0].gauge": {"rule"}})
	says(t, b.get(b.page("/record/day-end")), `>B1-2 on a jack</textarea>`)
	says(t, b.get(b.page("")), "not said to be out")
	says(t, b.get(b.page("/record/floor-cut")), "Saw no deeper than the boards", "asbestos", "lead")
}
