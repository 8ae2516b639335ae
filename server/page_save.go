package server

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"maps"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// postRecord is POST /jobs/{job}/record/{kind}.
func (p *pages) postRecord(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	form, err := formOf(r)
	if err != nil {
		return err
	}
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	sent, err := readSent(w, r)
	if err != nil {
		return err
	}
	defer sent.close()
	about := r.PostFormValue("about")
	if form.Kind == events.KindSigned {
		about = "" // another may have been chosen since
	}
	page, err := p.recordPage(r, v, form, about)
	if err != nil {
		return err
	}
	p.keepLiked(w, r, form)
	corrects, err := p.correctionOf(r, v)
	if err != nil {
		return err
	}
	made, wrong, err := p.draftOf(r, v, page, sent, corrects)
	if err != nil {
		return err
	}
	if len(wrong) > 0 {
		page.Wrong = wrong
		p.refill(r, v, &page)
		return show(w, http.StatusUnprocessableEntity, page)
	}
	err = p.storeDraft(r, v, made, sent)
	if errors.Is(err, errCameBetween) {
		return p.decideAgain(w, r, page, *made.onto)
	}
	if err != nil {
		return err
	}
	if err := p.corrected(r, v, made, corrects); err != nil {
		return err
	}
	p.carry(w, r, made)
	http.Redirect(w, r, savedAt(p.backOf(r.PostFormValue("back"), v, ""), made.id), http.StatusSeeOther)
	return nil
}

// refill puts into a form what it was sent with.
func (p *pages) refill(r *http.Request, v view, page *web.RecordPage) {
	page.Values = r.PostForm
	page.FormID, page.By, page.Unit = r.PostFormValue("form"), r.PostFormValue("recorder"), cmp.Or(r.PostFormValue("unit"), string(v.firm.Units), "mm")
	page.Back = p.backOf(r.PostFormValue("back"), v, "")
	page.Apart = r.PostFormValue("apart")
	page.Decision, _ = strconv.Atoi(r.PostFormValue("decision"))
}

// savedAt adds to an address what was saved.
func savedAt(back string, id events.ID) string {
	u, err := url.Parse(back)
	if err != nil {
		return back
	}
	q := u.Query()
	q.Set("saved", id.String())
	u.RawQuery = q.Encode()
	return u.String()
}

// draftOf makes a draft of what was filled in, or says what is wrong with it.
func (p *pages) draftOf(r *http.Request, v view, page web.RecordPage, sent *sent, corrects *events.Quarantined) (*draft, web.Wrong, error) {
	if text := sent.document; text != "" {
		r.PostForm.Set("document", text)
	}
	signOnLast(r.PostForm, page)
	bodies, wrong := page.Form.Bodies(r.PostForm, page.Sources)
	bodies, unfit, err := page.Sources.Complete(bodies)
	if err != nil {
		return nil, nil, err
	}
	kind := page.Form.Kind
	if corrects != nil {
		kind = restated
	}
	by, whoWrong := recorderIn(r, r.PostFormValue("recorder"), v.people, kind)
	id, err := events.ParseID(r.PostFormValue("form"))
	if err != nil {
		return nil, nil, refuse(http.StatusBadRequest, "This form is incomplete: open it again.")
	}
	wrong = merge(wrong, unfit, sent.wrong, whoWrong)
	if len(wrong) > 0 {
		return nil, wrong, nil
	}
	seen, _ := strconv.ParseInt(r.PostFormValue("seen"), 10, 64)
	e := entry{
		id: id, key: v.key, kind: page.Form.Kind, by: by, seen: min(max(seen, 0), v.picture.Seq), zone: v.zone, files: sent.files,
		decide: decided[page.Form.Kind],
	}
	if corrects != nil {
		n, _ := strconv.Atoi(r.PostFormValue("decision"))
		again := corrects.Again(v.key.job, n)
		e.again, e.files = &again, append(again.Files, e.files...)
	}
	for _, b := range bodies {
		e.bodies = append(e.bodies, b.JSON)
	}
	if len(e.bodies) > events.MaxBatchEvents {
		return nil, web.Wrong{"": "more than 500 at once: record them in two goes"}, nil
	}
	made, err := p.take(r.Context(), e)
	return made, nil, err
}

// signOnLast lets a signature rest on the support's last reading when nobody
// chose another.
func signOnLast(values url.Values, page web.RecordPage) {
	if page.Form.Kind != events.KindSigned || values.Get("reading") != "" {
		return
	}
	for _, c := range page.Sources.Readings {
		if strings.HasPrefix(c.Label, values.Get("support")+", ") {
			values.Set("reading", c.Value)
		}
	}
}

func merge(all ...web.Wrong) web.Wrong {
	out := web.Wrong{}
	for _, w := range all {
		maps.Copy(out, w)
	}
	return out
}

// storeDraft appends a draft's events, then keeps its files. An event that is
// stored stays stored whatever becomes of its files; the page says so.
func (p *pages) storeDraft(r *http.Request, v view, made *draft, sent *sent) error {
	if p.desk.isStored(made) {
		if made.elsewhere {
			p.desk.stored(made, "Saved.", p.keepFiles(r, v, sent))
		}
		return nil
	}
	answer, err := p.append(r.Context(), v.key, made)
	if err != nil {
		return err
	}
	saved, warned := p.outcome(r, v, made, answer)
	if unkept := p.keepFiles(r, v, sent); unkept != "" {
		warned = strings.TrimSpace(warned + " " + unkept)
	}
	p.desk.stored(made, saved, warned)
	return nil
}

// append records a draft's events: a fact whatever came before it, a decision only
// on the job as it was looked at.
func (p *pages) append(ctx context.Context, key jobKey, made *draft) (appended, error) {
	if made.onto != nil {
		return p.recordOnto(ctx, key, made.raws, made.onto)
	}
	return p.record(ctx, key, made.raws)
}

// outcome says what became of a draft: the new figures of what it is about.
func (p *pages) outcome(r *http.Request, v view, made *draft, answer appended) (saved, warned string) {
	var about []string
	var bad []string
	kit, err := p.config.Store.KitRecords(r.Context(), v.key.firm)
	if err != nil {
		p.config.Logger.ErrorContext(r.Context(), "the kit beside a page", "err", err)
	}
	err = p.states.use(r.Context(), v.key, func(state *jobs.State) {
		for i, raw := range made.raws {
			var e events.Event
			if json.Unmarshal(raw, &e) != nil {
				continue
			}
			if reason := answer.Results[i].Reason; reason != "" {
				bad = append(bad, "Kept apart: "+reason+".")
				continue
			}
			line := state.Line(events.Stored{Event: e, Seq: answer.Results[i].Seq})
			if line.Aside != "" {
				bad = append(bad, "Set aside: "+line.Aside+".")
			}
			for _, says := range kit.Speaks(events.Stored{Event: e}, v.zone) {
				bad = append(bad, "Recorded and flagged: "+says+".")
			}
			about = append(about, line.Points...)
		}
	})
	if err != nil && !errors.Is(err, events.ErrUnavailable) {
		p.config.Logger.ErrorContext(r.Context(), "figures of a page", "err", err)
	}
	return savedWords(about, answer.Supports, v.firm.Units), strings.Join(bad, " ")
}

// standsAt says in short how a support stands now.
func standsAt(s jobs.Support, u levelling.Unit) string {
	switch {
	case s.Doubt != "":
		return "in doubt, read it again"
	case s.ToGo == "" && s.Present != nil:
		return "at " + u.Show(s.Present.MM)
	}
	return s.ToGo
}

// savedWords is the line a page shows after saving.
func savedWords(about []string, figures []jobs.Support, u levelling.Unit) string {
	const most = 4
	var parts []string
	for _, s := range figures {
		for _, id := range about {
			if words := standsAt(s, u); s.ID == id && words != "" && len(parts) < most {
				parts = append(parts, s.ID+": "+words)
				break
			}
		}
	}
	if len(parts) == 0 {
		return "Saved."
	}
	return "Saved. " + strings.Join(parts, ", ")
}
