package server

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"

	"relevel/events"
	"relevel/levelling"
)

// drawnPlan is a plan as the page sends it.
type drawnPlan struct {
	Form     string      `json:"form"` // the id the event is to have: the same again stores nothing twice
	Recorder string      `json:"recorder"`
	Seen     int64       `json:"seen"` // what the drawing began from
	Plan     events.Plan `json:"plan"`
	Gone     []string    `json:"gone"` // places with records that are left off on purpose
}

// takenPlan answers what was recorded.
type takenPlan struct {
	Saved   string      `json:"saved"`
	Warned  string      `json:"warned,omitempty"`
	Between []planEvent `json:"between,omitempty"` // what came in at the same moment
	Now     planNow     `json:"now"`
}

// heldUp says why a plan was not recorded: somebody changed the drawing meanwhile.
type heldUp struct {
	Problem
	Between []planEvent `json:"between"`
	Now     planNow     `json:"now"`
}

// postPlan is POST /jobs/{job}/plan. What was found or drawn since the page was
// opened comes first: nobody's work is drawn over unseen.
func (p *pages) postPlan(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	var in drawnPlan
	if err := decodePlan(w, r, &in); err != nil {
		return err
	}
	id, err := events.ParseID(in.Form)
	if err != nil {
		return levelling.Bad("form", "the id that the page was given: open it again")
	}
	h, err := p.drawings(r.Context(), v)
	if err != nil {
		return err
	}
	if _, stored := h.has(id); stored {
		return p.answerPlan(w, r, firm, takenPlan{Saved: "Saved."}, id, in.Seen)
	}
	if between := h.since(in.Seen, id); len(between) > 0 {
		return p.holdUp(w, r, v, between)
	}
	made, err := p.draftPlan(r, v, h, in, id)
	if err != nil {
		return err
	}
	if err := p.storeDraft(r, v, made, &sent{}); err != nil {
		return err
	}
	saved, warned := p.said(r, v.key, made.id)
	return p.answerPlan(w, r, firm, takenPlan{Saved: saved, Warned: warned}, made.id, in.Seen)
}

// decodePlan reads a plan, which is larger than a form.
func decodePlan(w http.ResponseWriter, r *http.Request, into any) error {
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, events.MaxBatchBytes))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return decodeError(err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return refuse(http.StatusBadRequest, "More than one JSON object was sent.")
	}
	return nil
}

// draftPlan makes the event of a plan that is in order.
func (p *pages) draftPlan(r *http.Request, v view, h drawings, in drawnPlan, id events.ID) (*draft, error) {
	if err := in.Plan.Check(); err != nil {
		return nil, err
	}
	if err := in.checkKept(v.picture.Plan, h.records); err != nil {
		return nil, err
	}
	by, wrong := recorderIn(r, in.Recorder, v.people, events.KindPlan)
	if len(wrong) > 0 {
		return nil, levelling.Bad("recorder", wrong["recorder"])
	}
	files, err := p.underlayOf(r, v.key.firm, in.Plan)
	if err != nil {
		return nil, err
	}
	body, err := json.Marshal(in.Plan)
	if err != nil {
		return nil, fmt.Errorf("write a plan: %w", err)
	}
	return p.take(r.Context(), entry{
		id: id, key: v.key, kind: events.KindPlan, by: by, seen: min(max(in.Seen, 0), v.picture.Seq), zone: v.zone,
		bodies: []json.RawMessage{body}, files: files,
	})
}

// underlayOf is the picture under a plan, as a file of its event.
func (p *pages) underlayOf(r *http.Request, firm events.ID, plan events.Plan) ([]events.File, error) {
	if plan.Underlay == nil {
		return nil, nil
	}
	kept, err := p.config.Photos.Ledger.Find(r.Context(), firm, plan.Underlay.SHA256)
	if errors.Is(err, events.ErrNotFound) || err == nil && kept.Type != events.Photo {
		return nil, levelling.Bad("underlay", "that picture is not kept here: choose it again")
	}
	if err != nil {
		return nil, err
	}
	return []events.File{{Type: events.Photo, SHA256: kept.SHA256, Bytes: kept.Bytes, Media: kept.Media, Subject: "underlay of the plan"}}, nil
}

// samePlaceM is how near a place of another name stands where one stood.
const samePlaceM = 0.005

// checkKept asks about places with records that the plan leaves off. Records stand
// under the name of their place, so a new name would part them from it. What it says
// is logged and therefore names no place: the page knows which are meant.
func (in drawnPlan) checkKept(was events.Plan, records map[string]int) error {
	now, before := positions(in.Plan), positions(was)
	gone := map[string]bool{}
	for _, id := range in.Gone {
		gone[id] = true
	}
	unasked := 0
	for _, id := range placeNames(was) {
		if _, kept := now[id]; kept || records[id] == 0 {
			continue
		}
		if field := in.renamed(before, before[id]); field != "" {
			return levelling.Bad(field, recordsStand(records[id])+" under the name this place had: give it back, or move the new place and leave the old one off")
		}
		if !gone[id] {
			unasked++
		}
	}
	if unasked > 0 {
		return levelling.Bad("gone", fmt.Sprintf("%d places with records are off the plan: say that they may leave it; their records stay in the book", unasked))
	}
	return nil
}

// renamed is the field of a place that was not there before and stands where one
// stood, "" without one.
func (in drawnPlan) renamed(before map[string]events.Position, at events.Position) string {
	isNew := func(id string, x, y float64) bool {
		_, old := before[id]
		return !old && near(at, events.Position{x, y})
	}
	for i, s := range in.Plan.Supports {
		if isNew(s.ID, s.X, s.Y) {
			return fmt.Sprintf("supports[%d].id", i)
		}
	}
	for i, s := range in.Plan.Spots {
		if isNew(s.ID, s.X, s.Y) {
			return fmt.Sprintf("spots[%d].id", i)
		}
	}
	for i, d := range in.Plan.Datums {
		if isNew(d.ID, d.X, d.Y) {
			return fmt.Sprintf("datums[%d].id", i)
		}
	}
	return ""
}

func recordsStand(n int) string {
	if n == 1 {
		return "1 record stands"
	}
	return fmt.Sprintf("%d records stand", n)
}

func near(a, b events.Position) bool { return math.Hypot(a[0]-b[0], a[1]-b[1]) < samePlaceM }

// placeNames are the supports, spots and datums of a plan.
func placeNames(p events.Plan) (names []string) {
	for _, s := range p.Supports {
		names = append(names, s.ID)
	}
	for _, s := range p.Spots {
		names = append(names, s.ID)
	}
	for _, d := range p.Datums {
		names = append(names, d.ID)
	}
	return names
}

func positions(p events.Plan) map[string]events.Position {
	at := map[string]events.Position{}
	for _, s := range p.Supports {
		at[s.ID] = events.Position{s.X, s.Y}
	}
	for _, s := range p.Spots {
		at[s.ID] = events.Position{s.X, s.Y}
	}
	for _, d := range p.Datums {
		at[d.ID] = events.Position{d.X, d.Y}
	}
	return at
}

// holdUp answers 409 with what came in between.
func (p *pages) holdUp(w http.ResponseWriter, r *http.Request, v view, between []planEvent) error {
	now, err := p.planNow(r, v)
	if err != nil {
		return err
	}
	problem := Problem{Type: "about:blank", Title: http.StatusText(http.StatusConflict), Status: http.StatusConflict, RequestID: requestID(r),
		Detail: "The plan was changed since this page was opened. Nothing was recorded, and nothing of yours is lost."}
	return reply(w, http.StatusConflict, heldUp{problem, between, now})
}

// answerPlan answers 201 with the plan as it stands, and with what slipped in
// between the look and the append: the log has both, and the page says so.
func (p *pages) answerPlan(w http.ResponseWriter, r *http.Request, firm events.ID, taken takenPlan, id events.ID, seen int64) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	h, err := p.drawings(r.Context(), v)
	if err != nil {
		return err
	}
	if own, stored := h.has(id); stored {
		for _, c := range h.since(seen, id) {
			if c.Seq < own.Seq {
				taken.Between = append(taken.Between, c)
			}
		}
	}
	if taken.Now, err = p.planNow(r, v); err != nil {
		return err
	}
	return reply(w, http.StatusCreated, taken)
}
