package server_test

import (
	"fmt"
	"html"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"relevel/jobs"
	"relevel/jobs/pgjobs"
	"relevel/levelling"
	"relevel/server/web"
)

// house is a firm whose one job has everything, in words that no region calls a thing
// of the trade by, beside a job in which nothing was recorded yet. What was typed is in
// the unit that the firm reads, so that whatever another unit stands in is the
// program's own doing.
type house struct {
	*world
	d     *device
	units levelling.Unit
	times []time.Time       // of what was recorded
	typed *strings.Replacer // what is typed in place of something
}

// newHouse makes a house that was worked on from a day and a half ago until just now.
func newHouse(t *testing.T, s *site, clock *handClock, firm jobs.Firm, zone string) *house {
	t.Helper()
	return newHouseOf(t, s, clock, firm, zone, strings.NewReplacer())
}

// newHouseOf makes a house in which other things are typed.
func newHouseOf(t *testing.T, s *site, clock *handClock, firm jobs.Firm, zone string, typed *strings.Replacer) *house {
	t.Helper()
	store := pgjobs.New(s.db.App)
	w := &world{caller: s.firm("Level and Daughters"), clock: clock, word: "seen", names: map[string]string{}, told: map[string]bool{}, store: store}
	for _, key := range []string{"job", "closed_job", "empty", "crew", "person", "signer", "profile_id", "jack_id", "laser_id", "phone", "form", "hook", "calendar", "share"} {
		w.names[key] = newID(t).String()
	}
	w.names["word"], w.names["zone"], w.names["support"], w.names["other_support"] = w.word, zone, "A1", "A6"
	firm.ID, firm.Name, firm.CreatedAt = w.firm, "Level and Daughters", clock.now()
	must(t, store.UpdateFirm(t.Context(), firm))
	h := &house{world: w, units: firm.Units, typed: typed}
	w.fillFirm(t)
	w.fillAccount(t)
	w.add(t, "POST", "/jobs/{job}/particulars", `{"name":"house","zone":"{zone}","crew":"{crew}","planned_first":"2026-04-03","planned_last":"2026-04-08","revision":0}`)
	w.add(t, "POST", "/jobs", `{"id":"{empty}","name":"not begun","zone":"{zone}","crew":"{crew}"}`)
	w.fillFiles(t)
	site, err := time.LoadLocation(zone)
	must(t, err)
	h.d = newDevice(t, mustID(t, w.names["job"]))
	h.d.by, h.d.id, h.d.at = mustID(t, w.names["person"]), mustID(t, w.names["phone"]), clock.now().Add(-36*time.Hour).In(site)
	h.build(t)
	w.fillLate(t)
	w.renew(t)
	return h
}

var typedLength = regexp.MustCompile(`~(-?[\d.]+)`)

// record adds an event; ~12 in it is a length of 12 mm as it was typed here. Its id has
// the name, or the kind for one.
func (h *house) record(t *testing.T, kind, body string, name ...string) {
	t.Helper()
	id, raw := h.d.event(kind, h.fill(h.lengths(h.typed.Replace(body))))
	h.times = append(h.times, h.d.at)
	key := strings.Join(append(name, kind)[:1], "")
	if _, known := h.names[key]; !known {
		h.names[key] = id.String()
	}
	h.post(h.d.job, raw)
}

func (h *house) lengths(body string) string {
	return typedLength.ReplaceAllStringFunc(body, func(m string) string {
		mm, _ := strconv.ParseFloat(m[1:], 64)
		steps := map[levelling.Unit]float64{levelling.Inch: 16, levelling.Foot: 100, levelling.Millimetre: 2}[h.units]
		value := float64(int(mm/h.units.MM()*steps)) / steps
		return fmt.Sprintf(`{"value":%g,"unit":"%s"}`, value, h.units)
	})
}

func (h *house) later(d time.Duration) { h.d.at = h.d.at.Add(d) }

// build records one day and the next.
func (h *house) build(t *testing.T) {
	for _, part := range []func(*testing.T){h.survey, h.agree, h.open, h.lift, h.finish} {
		part(t)
		h.later(7 * time.Hour)
	}
}

func (h *house) survey(t *testing.T) {
	h.record(t, "plan", `{"supports":[{"id":"A1","x":0,"y":0},{"id":"A2","x":2,"y":0},{"id":"A3","x":4,"y":0},{"id":"A4","x":0,"y":2},{"id":"A5","x":2,"y":2},{"id":"A6","x":4,"y":2}],
		"spots":[{"id":"S1","x":1,"y":1}],"datums":[{"id":"K1","x":-1,"y":0,"height":0,"off_building":true,"stands_on":"kerb"},{"id":"K2","x":-1,"y":2,"stands_on":"step"}],
		"bearers":[{"id":"L1","supports":["A1","A2","A3"],"e_mpa":9000,"width_mm":100,"depth_mm":150},{"id":"L2","supports":["A4","A5","A6"]}],
		"joists":{"along":"y","spacing_mm":450,"width_mm":45,"depth_mm":120},
		"rooms":[{"name":"hall","outline":[[-0.5,-0.5],[4.5,-0.5],[4.5,2.5],[-0.5,2.5]]}],"street":"bottom"}`)
	h.record(t, "setup", `{"instrument":"laser {word}","stand":[1,1],"datums":[{"datum":"K1","staff":~1000},{"datum":"K2","staff":~1040}]}`)
	for i, mm := range []int{1000, 1011, 1022, 1009, 1017, 1029} {
		h.record(t, "reading", fmt.Sprintf(`{"setup":"{setup}","point":"A%d","face":"floor","staff":~%d}`, i+1, mm))
	}
	h.record(t, "reading", `{"setup":"{setup}","point":"S1","face":"floor","staff":~1014}`)
	h.record(t, "difference", `{"from":"A1","to":"A2","face":"floor","rise":~-11,"method":"water-level","sd_mm":2}`)
	h.record(t, "condition", `{"room":"hall","walls":"sound","doors":"the front one rubs","present":"the owner"}`)
	h.record(t, "gap-reading", `{"gap":"G1","what":"crack","width":~4,"watch":~7,"near":"hall","supports":["A2"]}`)
	h.record(t, "under-floor", `{"airing":{"rule":"ncc-2022","zone":"C","wall_m":30,"floor_m2":50,"vents_mm2":[9000,9000]},"clearance_mm":180,"ground":"damp","moisture":[{"support":"A2","pct":22.5}]}`)
}

func (h *house) agree(t *testing.T) {
	h.record(t, "aim", `{"aim":"level","height":~0,"face":"floor","tolerance":{"profile":"{word}","within_mm":2},"margin_mm":1,"step_mm":5,"daily_mm":10,"neighbour_mm":6,"neighbour_ratio":500,
		"jacks":2,"max_out":1,"max_on_blocking":1,"left_out":["A4"],"lower_mm":2,"caps":[{"support":"A5","mm":9}],"rest_hours":12,"agreed_by":"the owner"}`)
	h.record(t, "change", `{"text":"one more at A6","amount":480.5,"currency":"EUR"}`)
	h.record(t, "change", `{"text":"a new step"}`, "answered")
	h.record(t, "change-answered", `{"change":"{answered}","accepted":true,"name":"the owner","how":"by phone"}`)
	h.record(t, "instrument-check", `{"instrument":"laser {word}","sort":"half-turn","distance_m":30,"difference":~3,"good_until":"2026-04-02"}`)
	h.record(t, "safety-check", `{"sentences":[{"sentence":"The way out is clear","initials":"MK"}],"off":["gas"],"at_hatch":"a hand"}`)
}

func (h *house) open(t *testing.T) {
	h.record(t, "tie", `{"tie":"T1","what":"waste pipe","where":"hall","supports":["A2"],"trade":"plumber"}`)
	h.record(t, "tie", `{"tie":"T2","what":"cable","supports":["A6"]}`, "cable")
	h.record(t, "tie-freed", `{"tie":"T1","how":"clip off","trade":"plumber"}`)
	h.record(t, "floor-cut", `{"cut":"C1","where":"hall","outline":[[1,1],[2,1],[2,2],[1,2]],"layers":["boards"],"no_deeper":~19,"joists":"two","bearing_mm":21,"cleat":true}`)
	h.record(t, "floor-cut", `{"cut":"C2","where":"door"}`, "covered")
	h.record(t, "floor-closed", `{"cut":"C2","how":"screwed"}`)
	h.record(t, "finding", `{"what":"sunk","how_bad":"much","where":"A6","cause":"water from a gutter or downpipe","supports":["A6"],"trade":"plumber","by":"2026-04-02"}`)
	h.record(t, "finding", `{"what":"wet","where":"A2"}`, "dry")
	h.record(t, "finding-closed", `{"finding":"{dry}","how":"leak stopped"}`)
	h.record(t, "found", `{"what":"support","id":"A7","x":5,"y":0,"bearer":"L1","after":"A3"}`)
	h.record(t, "blocking", `{"place":"P1","supports":["A3"],"what":"crossed hardwood","base":"sole plates"}`)
	h.record(t, "blocking", `{"place":"P2","supports":["A5"],"what":"crossed hardwood","base":"concrete"}`, "second")
	for _, step := range []string{"taken-out", "dug", "seen-by-inspector", "poured"} {
		h.record(t, "support-work", `{"support":"A3","step":"`+step+`"}`)
	}
	h.record(t, "support-work", `{"support":"A3","step":"carries-from","from":"2026-05-01","set_by":"{person}"}`)
	h.record(t, "inspection", `{"who":"the council","stage":"holes before they are filled","answer":"passed","supports":["A3"]}`)
	h.record(t, "blocking-removed", `{"place":"P2"}`)
}

func (h *house) lift(t *testing.T) {
	h.record(t, "jacking", `{"moves":[{"support":"A1","by":~4,"gauge":"rule","jack":"jack {word}","pressure_mpa":11.5,"bore_mm":50},{"support":"A2","by":~5,"gauge":"rule"}]}`)
	h.record(t, "packing", `{"support":"A2","sort":"temporary","gap":~5}`)
	h.record(t, "packing", `{"support":"A1","sort":"final","gap":~12,"pieces":[{"thickness":~12,"material":"hardwood","moisture_pct":19}],"full_width":true}`, "final")
	h.record(t, "jack-down", `{"support":"A1"}`)
	h.record(t, "support-work", `{"support":"A1","step":"fixed","how":"strap"}`)
	h.record(t, "reading", `{"setup":"{setup}","point":"A1","face":"floor","staff":~999}`, "after")
	h.record(t, "signed", `{"support":"A1","reading":"{after}"}`)
	h.record(t, "jacking", `{"moves":[{"support":"A2","by":~5,"gauge":"dial"}]}`, "again")
	h.record(t, "reading", `{"setup":"{setup}","point":"A2","face":"floor","staff":~985}`, "odd")
	h.record(t, "gap-reading", `{"gap":"G1","what":"crack","width":~9,"near":"hall","supports":["A2"]}`, "wider")
	h.record(t, "setup-closed", `{"setup":"{setup}","datums":[{"datum":"K1","staff":~1006}]}`)
	h.record(t, "incident", `{"what":"near miss","where":"hall","done":"tied on"}`)
	h.record(t, "note", `{"text":"the owner is away","supports":["A1"]}`)
}

func (h *house) finish(t *testing.T) {
	h.record(t, "void", `{"event":"{difference}","why":"misread"}`)
	h.record(t, "stop", `{"why":"the crack at G1","supports":["A6"],"ask":"the engineer"}`)
	h.record(t, "stop", `{"why":"rain","ask":"the engineer"}`, "rain")
	h.record(t, "go-ahead", `{"stop":"{rain}","who":"the engineer","why":"it is dry"}`)
	h.record(t, "tie-back", `{"tie":"T1","tested":"dry"}`)
	h.record(t, "day-end", `{"left":["A3"],"done":"hatch shut","out":true,"on":true}`)
	h.record(t, "handover", `{"date":"2026-05-14","present":"the owner","left_out":"the hearth","ties_not_back":["T2"],"come_back":["2026-11-14"],"owners_places":[{"point":"A1","reading":"{after}"}]}`)
	h.note(t, h.d)
}

// pages calls f with every page that this firm can look at, of the house and of the job
// that has nothing, and with every form; text is what people read there.
func (h *house) pages(t *testing.T, f func(path, text string)) {
	t.Helper()
	seen := 0
	empty := h.with(h.world)
	empty["job"] = h.names["empty"]
	for _, path := range pagePaths() {
		for _, names := range []map[string]string{h.names, empty} {
			a := h.ask(t, request{method: "GET", path: path}, names)
			if a.status == 200 && strings.HasPrefix(a.header.Get("Content-Type"), "text/html") {
				seen++
				f(path, visible(string(a.body)))
			} else if a.status >= 500 {
				t.Errorf("%s: status %d", path, a.status)
			}
		}
	}
	if seen < 100 {
		t.Errorf("only %d pages were looked at", seen)
	}
}

// pagePaths are the addresses of all pages: those of doors, and each kind's form.
func pagePaths() (paths []string) {
	for _, d := range doors {
		q := d.request()
		if q.method == "GET" && !d.open && !strings.HasPrefix(q.path, "/api/") && !strings.Contains(q.path, "passkey") {
			paths = append(paths, q.path)
		}
	}
	for _, form := range web.Forms {
		path := "/jobs/{job}/record/" + url.PathEscape(string(form.Kind))
		paths = append(paths, path, path+"?support={support}")
	}
	return append(paths, "/search?q=the", "/jobs/{job}/supports/A2", "/jobs/{job}/supports/A3", "/jobs/{job}/supports/A6", "/jobs/{job}/supports/A7",
		"/jobs/{job}/record/void?event={reading}", "/jobs/{job}/record/instrument-check?sort=two-peg", "/jobs/{job}/schedule?decided=yes&replace=A3&thickness_mm=300", "/diary")
}

var (
	unseen = regexp.MustCompile(`(?s)<(script|style|head)\b.*?</(script|style|head)>|<!--.*?-->`)
	spoken = regexp.MustCompile(`<[^>]*?\b(?:aria-label|title|alt|placeholder)="([^"]*)"[^>]*>`)
	tag    = regexp.MustCompile(`<[^>]*>`)
	spaces = regexp.MustCompile(`\s+`)
)

// visible is what people read of a page, or hear.
func visible(page string) string {
	page = unseen.ReplaceAllString(page, " ")
	page = spoken.ReplaceAllString(page, " $1 ")
	return spaces.ReplaceAllString(html.UnescapeString(tag.ReplaceAllString(page, " ")), " ")
}

// around is a piece of text with what stands beside it.
func around(text string, at []int) string {
	return strings.TrimSpace(text[max(0, at[0]-60):min(len(text), at[1]+40)])
}
