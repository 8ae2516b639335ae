package server

import (
	"cmp"
	"context"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// planRoutes adds the page on which a plan is drawn, and what its script asks for.
func (p *pages) planRoutes(own firmRoutes) {
	own.r.PathPrefix(web.OfficePath).Handler(p.answer(p.getOffice)).Methods(http.MethodGet, http.MethodHead)
	own.get("/jobs/{job}/plan", p.getPlanPage)
	own.post("/jobs/{job}/plan", p.postPlan)
	own.post("/jobs/{job}/plan/check", p.postPlanCheck)
	own.get("/jobs/{job}/plan/now", p.getPlanNow)
	own.get("/jobs/{job}/plan/earlier/{seq}", p.getEarlierPlan)
	own.get("/jobs/{job}/plan/of/{other}", p.getPlanOf)
}

// getOffice is GET /office/ and the files below it. They are the same for everybody.
func (p *pages) getOffice(w http.ResponseWriter, r *http.Request) error {
	name := strings.TrimPrefix(r.URL.Path, web.OfficePath)
	if !p.config.Office.Has(name) {
		return refuse(http.StatusNotFound, "There is nothing at this address.")
	}
	return p.config.Office.Serve(w, r, name)
}

// planNow is what one who draws starts from, and what he is told when somebody
// else was faster.
type planNow struct {
	Job      string         `json:"job"`
	Base     string         `json:"base"` // the address of the job
	Seq      int64          `json:"seq"`  // what this was seen at
	Plan     events.Plan    `json:"plan"`
	Records  map[string]int `json:"records"` // how many records each place has
	Found    []string       `json:"found"`   // what was found below since it was drawn
	None     []string       `json:"none"`    // of which somebody below says that nothing stands there
	Earlier  []planEvent    `json:"earlier"` // every plan there was, latest first
	Since    []planEvent    `json:"since"`   // the latest plans, finds and voids of one
	Form     string         `json:"form"`    // the id the next plan will have
	People   []planPerson   `json:"people"`
	Recorder string         `json:"recorder"`
	Words    jobs.Words     `json:"words"`
	Feet     bool           `json:"feet"` // lengths are shown in feet and inches
	Jobs     []planJob      `json:"jobs"` // whose plan can be copied
}

type planPerson struct {
	ID   events.ID `json:"id"`
	Name string    `json:"name"`
}

type planJob struct {
	ID       events.ID `json:"id"`
	Name     string    `json:"name"`
	Supports int       `json:"supports"`
}

// planEvent is something that changed the drawing, in words.
type planEvent struct {
	Seq   int64       `json:"seq"`
	Kind  events.Kind `json:"kind"`
	What  string      `json:"what"`
	When  string      `json:"when"`
	By    string      `json:"by,omitempty"`
	Void  bool        `json:"void,omitempty"`
	event events.Event
}

// getPlanPage is GET /jobs/{job}/plan.
func (p *pages) getPlanPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	now, err := p.planNow(r, v)
	if err != nil {
		return err
	}
	page := web.PlanPage{
		Frame: p.frame(r, v, "Plan of "+v.job.Name), Start: now, ByHand: v.record(events.KindPlan, ""),
		Script: p.config.Office.Address("plan", ".js"), Styles: p.config.Office.Address("plan", ".css"),
	}
	page.Nothing = page.Script == ""
	return show(w, http.StatusOK, page)
}

// getPlanNow is GET /jobs/{job}/plan/now: the same as data.
func (p *pages) getPlanNow(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	now, err := p.planNow(r, v)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, now)
}

func (p *pages) planNow(r *http.Request, v view) (planNow, error) {
	h, err := p.drawings(r.Context(), v)
	if err != nil {
		return planNow{}, err
	}
	id, err := p.desk.newID()
	if err != nil {
		return planNow{}, err
	}
	now := planNow{
		Job: v.job.Name, Base: v.base(), Seq: v.picture.Seq, Plan: v.picture.Plan, Records: h.records, Found: orEmpty(h.found), None: []string{}, Earlier: orEmpty(h.plans()), Since: orEmpty(h.latest()),
		Form: id.String(), Recorder: recorderOf(r, v), Words: v.firm.Words.Words(), Feet: inFeet(r, v.firm), People: make([]planPerson, len(v.people)),
	}
	for _, s := range v.picture.Supports {
		if s.NoneHere {
			now.None = append(now.None, s.ID)
		}
	}
	for i, one := range v.people {
		now.People[i] = planPerson{one.ID, one.Name}
	}
	now.Jobs, err = p.drawnJobs(r, v)
	return now, err
}

// inFeet tells whether lengths of a plan are shown in feet: as this device last
// recorded lengths, or else as the firm's screens show them.
func inFeet(r *http.Request, firm jobs.Firm) bool {
	unit := cmp.Or(liked(r, "unit"), string(firm.Units))
	return unit == string(levelling.Inch) || unit == string(levelling.Foot)
}

// drawnJobs are the firm's other jobs that have a plan.
func (p *pages) drawnJobs(r *http.Request, v view) ([]planJob, error) {
	list, err := p.listJobs(r, v.key.firm)
	out := []planJob{}
	for _, j := range list {
		if j.ID != v.key.job && j.Brief != nil && j.Brief.Supports > 0 {
			out = append(out, planJob{j.ID, j.Name, j.Brief.Supports})
		}
	}
	return out, err
}

// drawings is what the log says about the drawing of a job.
type drawings struct {
	changes []planEvent // plans, finds, and what voids one of them, in order
	records map[string]int
	found   []string
}

// drawings goes through the book once: a plan is drawn seldom, and a job has a few
// thousand lines.
func (p *pages) drawings(ctx context.Context, v view) (drawings, error) {
	h := drawings{records: map[string]int{}}
	stored, err := readAll(ctx, p.config.Log, v.key, v.picture.Seq)
	if err != nil {
		return h, err
	}
	drawn := map[events.ID]bool{}
	err = p.states.use(ctx, v.key, func(state *jobs.State) {
		for _, e := range stored {
			h.take(v, e, state.Line(e), drawn)
		}
	})
	return h, err
}

func (h *drawings) take(v view, e events.Stored, l jobs.Line, drawn map[events.ID]bool) {
	switch {
	case e.Kind == events.KindPlan, e.Kind == events.KindFound, e.Kind == events.KindVoid && drawn[voided(e)]:
		drawn[e.ID] = true
		at := e.At.In(v.zone)
		h.changes = append(h.changes, planEvent{
			Seq: e.Seq, Kind: e.Kind, What: strings.TrimSpace(l.What + ": " + l.Text), When: web.When(at, v.now),
			By: v.names[e.By], Void: l.Voided != "" || l.Aside != "", event: e.Event,
		})
		h.find(e, l)
	case l.Voided == "" && e.Kind != events.KindVoid:
		for _, place := range l.Points {
			h.records[place]++
		}
	}
}

// find keeps what was found since the last plan.
func (h *drawings) find(e events.Stored, l jobs.Line) {
	if l.Voided != "" || l.Aside != "" {
		return
	}
	if e.Kind == events.KindPlan {
		h.found = nil
	}
	if body, err := events.Open(e.Kind, e.V, e.Body); err == nil {
		if f, ok := body.(*events.Found); ok && f.What != events.NoneHere {
			h.found = append(h.found, f.ID)
		}
	}
}

// voided is the event that an event voids.
func voided(e events.Stored) events.ID {
	if body, err := events.Open(e.Kind, e.V, e.Body); err == nil {
		if v, ok := body.(*events.Void); ok {
			return v.Event
		}
	}
	return events.ID{}
}

// plans are the plans among the changes that count, latest first.
func (h *drawings) plans() (all []planEvent) {
	for i := len(h.changes) - 1; i >= 0; i-- {
		if c := h.changes[i]; c.Kind == events.KindPlan && !c.Void {
			all = append(all, c)
		}
	}
	return all
}

// latest are the last few changes of any sort.
func (h *drawings) latest() []planEvent {
	const few = 20
	return h.changes[max(0, len(h.changes)-few):]
}

// since are the changes after a number, but for one event.
func (h *drawings) since(seq int64, but events.ID) (after []planEvent) {
	for _, c := range h.changes {
		if c.Seq > seq && c.event.ID != but {
			after = append(after, c)
		}
	}
	return after
}

// has finds a change by its id.
func (h *drawings) has(id events.ID) (planEvent, bool) {
	for _, c := range h.changes {
		if c.event.ID == id {
			return c, true
		}
	}
	return planEvent{}, false
}

// getEarlierPlan is GET /jobs/{job}/plan/earlier/{seq}: a plan as it was recorded.
func (p *pages) getEarlierPlan(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	h, err := p.drawings(r.Context(), v)
	if err != nil {
		return err
	}
	for _, c := range h.plans() {
		if body, err := events.Open(c.Kind, c.event.V, c.event.Body); err == nil && strconv.FormatInt(c.Seq, 10) == mux.Vars(r)["seq"] {
			return reply(w, http.StatusOK, body)
		}
	}
	return events.ErrNotFound
}

// getPlanOf is GET /jobs/{job}/plan/of/{other}: the plan of another of the firm's
// jobs, without what belongs to that place alone.
func (p *pages) getPlanOf(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	if _, err := p.look(r, firm); err != nil {
		return err
	}
	other, err := p.look(mux.SetURLVars(r, map[string]string{"job": mux.Vars(r)["other"]}), firm)
	if err != nil {
		return err
	}
	plan := other.picture.Plan
	plan.Underlay, plan.Datums = nil, slices.Clone(plan.Datums)
	for i := range plan.Datums {
		plan.Datums[i].Height, plan.Datums[i].SDMM, plan.Datums[i].StandsOn = nil, 0, ""
	}
	return reply(w, http.StatusOK, plan)
}
