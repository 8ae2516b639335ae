package server_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"html"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"relevel/events"
	"relevel/jobs"
	"relevel/server"
	"relevel/server/web"
)

// plannedNow is what the page of a plan starts from.
type plannedNow struct {
	Seq     int64          `json:"seq"`
	Plan    events.Plan    `json:"plan"`
	Records map[string]int `json:"records"`
	Found   []string       `json:"found"`
	Form    string         `json:"form"`
	Earlier []struct {
		Seq      int64
		What, By string
	} `json:"earlier"`
	Jobs []struct{ Name string } `json:"jobs"`
}

// sendPlan sends what was drawn, as the page's script does.
func (b *browser) sendPlan(path string, body any) answer {
	b.t.Helper()
	text, err := json.Marshal(body)
	must(b.t, err)
	r, err := http.NewRequestWithContext(b.t.Context(), "POST", b.site.URL+path, bytes.NewReader(text))
	must(b.t, err)
	r.Header.Set("Accept", "application/json")
	return b.answer(r)
}

func (b *browser) answer(r *http.Request) answer {
	b.t.Helper()
	resp, err := b.client.Do(r)
	must(b.t, err)
	defer resp.Body.Close()
	var text bytes.Buffer
	_, err = text.ReadFrom(resp.Body)
	must(b.t, err)
	return answer{resp.StatusCode, resp.Header, text.Bytes()}
}

func (b *browser) fetch(path string) answer {
	b.t.Helper()
	r, err := http.NewRequestWithContext(b.t.Context(), "GET", b.site.URL+path, nil)
	must(b.t, err)
	r.Header.Set("Accept", "application/json")
	return b.answer(r)
}

func (b *browser) planNow() (now plannedNow) {
	b.t.Helper()
	b.fetch(b.page("/plan/now")).want(b.t, 200, &now)
	return now
}

// drawn is what the page sends for a plan that was drawn from what it showed.
func (b *browser) drawn(now plannedNow, more map[string]any) map[string]any {
	out := map[string]any{"form": now.Form, "recorder": b.person, "seen": now.Seq, "plan": now.Plan, "gone": []string{}}
	for name, v := range more {
		out[name] = v
	}
	return out
}

// What is drawn is an event of the desk, by who drew it; the same sent again stores
// nothing, and what was there before can be looked at.
func TestPlanRecorded(t *testing.T) {
	b := newBrowser(t, newSite(t))
	now := b.planNow()
	now.Plan.Supports[1].X = 3.5
	body := b.drawn(now, nil)
	var taken struct {
		Saved string
		Now   plannedNow
	}
	for range 2 {
		b.sendPlan(b.page("/plan"), body).want(t, 201, &taken)
	}
	if taken.Saved == "" || taken.Now.Seq != 2 || taken.Now.Plan.Supports[1].X != 3.5 {
		t.Errorf("answered %+v", taken)
	}
	state := b.caller.state(b.job)
	if s, _ := state.Support("B1-2"); s.X != 3.5 || state.Seq != 2 {
		t.Errorf("B1-2 stands at %g, %d events", s.X, state.Seq)
	}
	if e := taken.Now.Earlier; len(e) != 2 || e[0].By != "Mere Kohu" || !strings.Contains(e[0].What, "2 supports on 1 bearer") {
		t.Errorf("earlier plans: %+v", e)
	}
	var first events.Plan
	b.fetch(b.page("/plan/earlier/1")).want(t, 200, &first)
	if first.Supports[1].X != 3 {
		t.Errorf("the first plan was %+v", first)
	}
	b.fetch(b.page("/plan/earlier/9")).problem(t, 404, "")
}

// What is found below while somebody draws comes first, and a plan that was drawn
// from it may leave it off.
func TestPlanHeldUp(t *testing.T) {
	b := newBrowser(t, newSite(t))
	now := b.planNow()
	d := newDevice(t, b.job)
	b.caller.post(b.job, d.raw("found", `{"what":"support","id":"B1-1x","x":2,"y":1,"bearer":"B1","after":"B1-1"}`))
	var held struct {
		Between []struct{ What string }
		Now     plannedNow
	}
	b.sendPlan(b.page("/plan"), b.drawn(now, nil)).want(t, 409, &held)
	if len(held.Between) != 1 || !strings.Contains(held.Between[0].What, "B1-1x") || len(held.Now.Plan.Supports) != 3 || held.Now.Found[0] != "B1-1x" {
		t.Errorf("held up by %+v", held)
	}
	if seq := b.caller.state(b.job).Seq; seq != 2 {
		t.Errorf("%d events, want none recorded", seq)
	}
	// A reading in between changes no drawing and holds nobody up.
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1010))
	now.Seq, now.Form = held.Now.Seq, held.Now.Form
	b.sendPlan(b.page("/plan"), b.drawn(now, nil)).want(t, 201, nil)
	if _, there := b.caller.state(b.job).Support("B1-1x"); there {
		t.Error("what was seen and left off is still drawn")
	}
}

// A place with records leaves a plan only when somebody says so, and never by
// another name.
func TestPlanKeepsRecords(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-2", 1010))
	now := b.planNow()
	if now.Records["B1-2"] != 1 || now.Records["B1-1"] != 0 {
		t.Errorf("records: %v", now.Records)
	}
	var renamed, off events.Plan
	for _, plan := range []*events.Plan{&renamed, &off} {
		must(t, json.Unmarshal([]byte(smallPlan), plan))
	}
	renamed.Supports[1].ID, renamed.Bearers[0].Supports[1] = "B1-9", "B1-9"
	p := b.sendPlan(b.page("/plan"), b.drawn(now, map[string]any{"plan": renamed})).problem(t, 422, "supports[1].id")
	if !strings.Contains(p.Detail, "1 record stands under the name") {
		t.Errorf("says %q", p.Detail)
	}
	off.Supports, off.Bearers[0].Supports = off.Supports[:1], []string{"B1-1"}
	b.sendPlan(b.page("/plan"), b.drawn(now, map[string]any{"plan": off})).problem(t, 422, "gone")
	b.sendPlan(b.page("/plan"), b.drawn(now, map[string]any{"plan": off, "gone": []string{"B1-2"}})).want(t, 201, nil)
	state := b.caller.state(b.job)
	if _, there := state.Support("B1-2"); there || len(state.SetAside) != 0 {
		t.Errorf("B1-2 is drawn: %v; set aside: %+v", there, state.SetAside)
	}
}

// What no log would take is said with the field, and nothing is recorded.
func TestPlanWrong(t *testing.T) {
	b := newBrowser(t, newSite(t))
	now := b.planNow()
	twice := now.Plan
	twice.Supports = append(twice.Supports, events.Support{ID: "B1-1", X: 9})
	for field, more := range map[string]map[string]any{
		"supports[2].id": {"plan": twice},
		"recorder":       {"recorder": ""},
		"form":           {"form": "none"},
		"plan.supports":  {"plan": map[string]any{"supports": "none"}},
		"what":           {"what": 1},
		"underlay": {"plan": map[string]any{"underlay": map[string]any{
			"sha256": strings.Repeat("ab", 32), "pixels": [][]float64{{0, 0}, {1, 1}}, "metres": [][]float64{{0, 0}, {1, 1}}}}},
	} {
		b.sendPlan(b.page("/plan"), b.drawn(now, more)).problem(t, 422, field)
	}
	if seq := b.caller.state(b.job).Seq; seq != 1 {
		t.Errorf("%d events, want none recorded", seq)
	}
}

// A picture under the plan is a photo of its event, so that it is kept as long.
func TestPlanUnderlay(t *testing.T) {
	b := newBrowser(t, newSite(t))
	photo := picture(t)
	digest := events.Digest(sha256.Sum256(photo))
	b.caller.send("PUT", "/photos/"+digest.String(), photo, "Content-Type", "image/jpeg").want(t, 200, nil)
	now := b.planNow()
	now.Plan.Underlay = &events.Underlay{SHA256: digest, Pixels: [2]events.Position{{0, 0}, {100, 0}}, Metres: [2]events.Position{{0, 0}, {9, 0}}}
	b.sendPlan(b.page("/plan"), b.drawn(now, nil)).want(t, 201, nil)
	var book struct {
		Events []struct {
			Event events.Event
		}
	}
	b.caller.get("/jobs/"+b.job.String()+"/events", &book)
	if files := book.Events[1].Event.Files; len(files) != 1 || files[0].SHA256 != digest || files[0].Bytes != int64(len(photo)) {
		t.Errorf("the event's files: %+v", files)
	}
}

// The check list says what is wrong by the log's own rules, and what is missing.
func TestPlanCheck(t *testing.T) {
	b := newBrowser(t, newSite(t))
	check := func(plan string) string {
		r, err := http.NewRequestWithContext(t.Context(), "POST", b.site.URL+b.page("/plan/check"), strings.NewReader(plan))
		must(t, err)
		return string(b.answer(r).want(t, 200, nil).body)
	}
	for plan, words := range map[string]string{
		`{}`:      "No stump is drawn",
		smallPlan: "One datum",
		`{"supports":[{"id":"A","x":0,"y":0},{"id":"A","x":1,"y":0}]}`:                                                                                                 `"field":"supports[1].id","words":"\"A\" stands twice`,
		`{"supports":[{"id":"A","x":0,"y":0},{"id":"B","x":0.1,"y":0}]}`:                                                                                               "A and B stand at one place",
		`{"supports":[{"id":"A","x":0,"y":0},{"id":"B","x":1,"y":0.4},{"id":"C","x":2,"y":0}],"bearers":[{"id":"B1","supports":["A","B","C"]}]}`:                       "B stands 0.40 m beside the line of B1",
		`{"supports":[{"id":"A","x":0,"y":0}]}`:                                                                                                                        "A is on no bearer",
		`{"supports":[{"id":"A","x":0,"y":0},{"id":"B","x":0.1,"y":0}],"bearers":[{"id":"B1","supports":["A","B"],"joins":[{"at":"A","other":"B","sort":"butted"}]}]}`: "no section",
		`{"datums":[{"id":"D1","x":0,"y":0},{"id":"D2","x":1,"y":0}]}`:                                                                                                 "No datum has a height",
	} {
		if got := check(plan); !strings.Contains(got, words) {
			t.Errorf("of %s it says %s, want %q", plan, got, words)
		}
	}
	if got := check(`{"supports":[{"id":"A","x":0,"y":0},{"id":"B","x":0.1,"y":0}],"bearers":[{"id":"B1","supports":["A","B"],"joins":[{"at":"A","other":"B","sort":"butted"}]}]}`); strings.Contains(got, "one place") {
		t.Errorf("the ends of a butted join stand at one place: %s", got)
	}
}

// A plan is copied from another job of the firm, without what belongs to that place;
// another firm's job is nobody's.
func TestPlanCopied(t *testing.T) {
	s := newSite(t)
	b, stranger := newBrowser(t, s), newBrowser(t, s)
	other := b.caller.newJob()
	var plan events.Plan
	b.fetch("/jobs/"+other.String()+"/plan/of/"+b.job.String()).want(t, 200, &plan)
	if len(plan.Supports) != 2 || len(plan.Datums) != 1 || plan.Datums[0].Height != nil || !plan.Datums[0].OffBuilding {
		t.Errorf("copied %+v", plan)
	}
	if s := b.caller.state(b.job); s.Plan.Datums[0].Height == nil {
		t.Error("copying took the height from the plan that was copied")
	}
	for _, path := range []string{
		b.page("/plan"), b.page("/plan/now"), b.page("/plan/earlier/1"), stranger.page("/plan/of/" + b.job.String()), b.page("/plan/of/" + stranger.job.String()),
	} {
		stranger.fetch(path).problem(t, 404, "")
	}
	now := b.planNow()
	stranger.sendPlan(b.page("/plan"), b.drawn(now, nil)).problem(t, 404, "")
	stranger.sendPlan(b.page("/plan/check"), now.Plan).problem(t, 404, "")
}

var planStart = regexp.MustCompile(`(?s)<script type="application/json" id="plan-start">(.*?)</script>`)

// The page carries what it starts from, and the scripts it was built with.
func TestPlanPage(t *testing.T) {
	office, err := web.ReadOffice(fstest.MapFS{
		"plan-AB12CD34.js": {Data: []byte("script")}, "plan-AB12CD34.js.br": {Data: []byte("packed")}, "plan-EF56AB78.css": {Data: []byte("p{}")},
		"part-plan-XX.js": {Data: []byte("part")}, "plan-AB12CD34.js.map": {Data: []byte("map")},
	})
	must(t, err)
	b := newBrowser(t, newSite(t, func(c *server.Config) { c.Office = office }))
	page := b.get(b.page("/plan"))
	for _, want := range []string{`src="/office/plan-AB12CD34.js"`, `href="/office/plan-EF56AB78.css"`, "<noscript>"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page has no %s", want)
		}
	}
	m := planStart.FindStringSubmatch(page)
	var now plannedNow
	if m == nil {
		t.Fatal("the page says not what it starts from")
	}
	must(t, json.Unmarshal([]byte(html.UnescapeString(m[1])), &now))
	if now.Seq != 1 || len(now.Plan.Supports) != 2 || now.Form == "" {
		t.Errorf("starts from %+v", now)
	}
	if !strings.Contains(b.get(b.page("")), b.page("/plan")+`"`) {
		t.Error("the job's page leads nowhere to draw")
	}

	r, err := http.NewRequestWithContext(t.Context(), "GET", b.site.URL+"/office/plan-AB12CD34.js", nil)
	must(t, err)
	r.Header.Set("Accept-Encoding", "br")
	a := b.answer(r).want(t, 200, nil)
	wantHeader(t, a, "Content-Encoding", "br")
	wantHeader(t, a, "Cache-Control", "public, max-age=31536000, immutable")
	wantHeader(t, a, "Content-Type", "text/javascript; charset=utf-8")
	if string(a.body) != "packed" || a.header.Get("ETag") == "" || !strings.HasPrefix(a.header.Get("Content-Security-Policy"), "default-src 'none'; script-src 'self';") {
		t.Errorf("%q under %v", a.body, a.header)
	}
	for _, path := range []string{"/office/", "/office/plan.js", "/office/plan-AB12CD34.js.br", "/office/plan-AB12CD34.js.map"} {
		b.fetch(path).problem(t, 404, "")
	}
}

// A program that was built without the scripts says so and leads to the form.
func TestPlanPageNotBuilt(t *testing.T) {
	none, err := web.ReadOffice(fstest.MapFS{"README": {Data: []byte("nothing was built")}})
	must(t, err)
	b := newBrowser(t, newSite(t, func(c *server.Config) { c.Office = none }))
	if page := b.get(b.page("/plan")); !strings.Contains(page, b.page("/record/plan")) || strings.Contains(page, "plan-start") {
		t.Error("the page does not lead to the form")
	}
}

// Where a firm builds in feet, lengths are shown in feet.
func TestPlanInFeet(t *testing.T) {
	b := newBrowser(t, newSite(t))
	feet := func(cookie string) bool {
		r, err := http.NewRequestWithContext(t.Context(), "GET", b.site.URL+b.page("/plan/now"), nil)
		must(t, err)
		if cookie != "" {
			r.AddCookie(&http.Cookie{Name: "unit", Value: cookie})
		}
		var now struct {
			Feet  bool
			Words jobs.Words
		}
		b.answer(r).want(t, 200, &now)
		if now.Words.Support != "stump" {
			t.Errorf("words: %+v", now.Words)
		}
		return now.Feet
	}
	if feet("") || feet("mm") || !feet("ft") {
		t.Error("the unit of this device does not count")
	}
}

// Two who record at the same moment: one is held up, or the later one is told of the
// other. Nobody's plan goes under in silence.
func TestPlanAtOnce(t *testing.T) {
	b := newBrowser(t, newSite(t))
	for range 5 {
		one, two := b.planNow(), b.planNow()
		answers := make([]answer, 2)
		var both sync.WaitGroup
		for i, now := range []plannedNow{one, two} {
			both.Go(func() { answers[i] = b.sendPlan(b.page("/plan"), b.drawn(now, nil)) })
		}
		both.Wait()
		told := 0
		for _, a := range answers {
			if a.status == http.StatusConflict || a.status == http.StatusCreated && strings.Contains(string(a.body), `"between":[{`) {
				told++
			}
		}
		if told != 1 {
			t.Fatalf("%d of the two are told of the other: %d and %d", told, answers[0].status, answers[1].status)
		}
	}
}
