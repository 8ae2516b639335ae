package server

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/drawing"
	"relevel/server/web"
)

func pathEscape(s string) string { return url.PathEscape(s) }

// getJobPage is GET /jobs/{job}.
func (p *pages) getJobPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	turn := turnOf(w, r, v)
	o := v.options(turn)
	page := web.JobPage{
		Frame: p.frame(r, v, v.job.Name), Picture: v.picture, Turn: (turn + 1) % 4,
		Floor: svg(drawing.Floor(v.picture, o)), Left: v.left(), Soon: v.soon(), Unsafe: v.unsafe(), Late: v.late(), Aside: v.picture.SetAside, Causes: v.recordLines(v.picture.Lists.Findings),
		Actions: v.actions(stageKinds(v.picture), ""), Others: v.actions(allKinds(), ""),
	}
	if page.Faults, err = p.faults(r.Context(), v); err != nil {
		return err
	}
	page.Live, page.Around = v.live(), v.around("")
	page.Drawn = v.drawn(o)
	for _, b := range v.picture.Plan.Bearers {
		if line := drawing.StringLine(v.picture, b, o); line != "" {
			page.Lines = append(page.Lines, svg(line))
		}
	}
	for _, e := range drawing.Key(o.Words) {
		page.Key = append(page.Key, web.KeyEntry{SVG: svg(e.SVG), Means: e.Means})
	}
	return show(w, http.StatusOK, page)
}

// turnOf is how the drawing lies: as the address says, and after that as it
// lay the last time.
func turnOf(w http.ResponseWriter, r *http.Request, v view) int {
	text := r.URL.Query().Get("turn")
	if text == "" {
		if c, err := r.Cookie("turn"); err == nil {
			text = c.Value
		}
	}
	turn, err := strconv.Atoi(text)
	if err != nil || turn < 0 || turn > 3 {
		return 0
	}
	if r.URL.Query().Has("turn") {
		remember(w, r, &http.Cookie{Name: "turn", Value: strconv.Itoa(turn), Path: v.base()})
	}
	return turn
}

// likedDays is how long a browser remembers how somebody likes things.
const likedDays = 90

// remember sets a cookie that says how somebody likes a page, and no secret.
func remember(w http.ResponseWriter, r *http.Request, c *http.Cookie) {
	c.MaxAge, c.HttpOnly, c.Secure, c.SameSite = likedDays*24*60*60, true, isHTTPS(r), http.SameSiteLaxMode
	http.SetCookie(w, c)
}

func (v view) left() []web.LeftLine {
	var lines []web.LeftLine
	for _, l := range v.picture.Left {
		line := web.LeftLine{Left: l, Since: web.When(l.Since.In(v.zone), v.now), By: v.names[l.By]}
		if _, ok := v.picture.Support(l.Place); ok {
			line.Href = v.base() + "/supports/" + pathEscape(l.Place)
		}
		lines = append(lines, line)
	}
	return lines
}

// actions are links to forms, about one support unless that is "".
func (v view) actions(kinds []events.Kind, support string) []web.Action {
	var out []web.Action
	for _, k := range kinds {
		form, ok := web.FormOf(k)
		if !ok {
			continue
		}
		out = append(out, web.Action{Verb: v.say(form.Verb), Href: v.record(k, support)})
	}
	return out
}

// say says a sentence of the program in the firm's words.
func (v view) say(sentence string) string { return v.firm.Words.Words().Say(sentence) }

// record is the address of a form, about one support unless that is "".
func (v view) record(k events.Kind, support string) string {
	href := v.base() + "/record/" + string(k)
	if support != "" {
		href += "?support=" + url.QueryEscape(support)
	}
	return href
}

// allKinds are those that can be recorded from a job's page. A line of the book
// is voided where it stands.
func allKinds() []events.Kind {
	var kinds []events.Kind
	for _, f := range web.Forms {
		if f.Kind != events.KindVoid {
			kinds = append(kinds, f.Kind)
		}
	}
	return kinds
}

// stageKinds are what is likely to be recorded next.
func stageKinds(p jobs.Picture) []events.Kind {
	if len(p.Plan.Supports) == 0 {
		return []events.Kind{events.KindPlan}
	}
	read := events.KindReading
	if !anySetup(p) {
		read = events.KindSetup
	}
	kinds := []events.Kind{read}
	if p.Aim == nil && p.Stage != "survey" {
		kinds = append(kinds, events.KindAim)
	}
	for _, k := range kindsOfStage[p.Stage] {
		if !slices.Contains(kinds, k) && k != events.KindReading {
			kinds = append(kinds, k)
		}
	}
	return kinds
}

func anySetup(p jobs.Picture) bool {
	for _, s := range p.Setups {
		if !s.Closed {
			return true
		}
	}
	return false
}

// kindsOfStage follows the steps of a job.
var kindsOfStage = map[string][]events.Kind{
	"survey":               {events.KindAim},
	"agree":                {events.KindAim},
	"datums and plan":      {events.KindPlan, events.KindFound},
	"condition record":     {events.KindCondition},
	"make safe, free ties": {events.KindSafetyCheck, events.KindTie, events.KindTieFreed},
	"open":                 {events.KindFloorCut},
	"cause":                {events.KindFinding, events.KindFindingClosed},
	"new supports carry":   {events.KindSupportWork, events.KindBlocking},
	"baseline":             {events.KindReading},
	"rounds":               {events.KindReading, events.KindJacking, events.KindPacking},
	"final packers":        {events.KindPacking, events.KindJackDown},
	"fix":                  {events.KindSupportWork},
	"rest and read again":  {events.KindReading},
	"sign":                 {events.KindSigned, events.KindReading},
	"close up":             {events.KindFloorClosed},
	"put back":             {events.KindTieBack},
	"hand over":            {events.KindHandover},
	"done":                 {events.KindReading, events.KindNote},
}
