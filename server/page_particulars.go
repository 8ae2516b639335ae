package server

import (
	"errors"
	"net/http"
	"strconv"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// getParticulars is GET /jobs/{job}/particulars.
func (p *pages) getParticulars(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.particularsPage(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) particularsPage(r *http.Request, firm events.ID) (page web.ParticularsPage, err error) {
	v, err := p.look(r, firm)
	if err != nil {
		return page, err
	}
	page = web.ParticularsPage{Frame: p.frame(r, v, "Particulars of "+v.job.Name), Typed: v.job, People: recorders(who(r), v.people, decides), By: recorderOf(r, v)}
	if page.Crews, err = p.config.Store.ListCrews(r.Context(), firm); err != nil {
		return page, err
	}
	closings, err := p.config.Store.ListClosings(r.Context(), firm, v.key.job)
	for _, c := range closings {
		page.Closings = append(page.Closings, web.ClosingLine{Closing: c, When: web.When(c.At.In(v.zone), v.now), Who: v.names[c.By]})
	}
	if err != nil {
		return page, err
	}
	id, err := p.desk.newID()
	page.FormID = id.String()
	return page, err
}

// postParticularsPage is POST /jobs/{job}/particulars.
func (p *pages) postParticularsPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	crew, _ := events.ParseID(r.PostFormValue("crew"))
	revision, _ := strconv.Atoi(r.PostFormValue("revision"))
	j := jobs.Job{
		Firm: firm, ID: key.job, Name: r.PostFormValue("name"), Place: r.PostFormValue("place"), Zone: r.PostFormValue("zone"), Crew: crew,
		PlannedFirst: r.PostFormValue("planned_first"), PlannedLast: r.PostFormValue("planned_last"), Revision: revision,
	}
	_, err = p.changeJob(r, j)
	return p.decided(w, r, firm, decision{err: err, wrong: wrongOf(err), typed: func(page *web.ParticularsPage, overtaken bool) {
		if overtaken {
			j.Revision = page.Typed.Revision
			page.Overtook = "Somebody changed these particulars meanwhile. Yours are below: save them again if they are to stand."
		}
		page.Typed = j
	}})
}

// postClosingPage is POST /jobs/{job}/closing.
func (p *pages) postClosingPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	c := jobs.Closing{Firm: firm, Job: key.job, Closed: r.PostFormValue("closed") == "yes", At: p.stamp(), Why: r.PostFormValue("why")}
	c.ID, _ = events.ParseID(r.PostFormValue("form"))
	c.Seq, _ = strconv.ParseInt(r.PostFormValue("seq"), 10, 64)
	people, err := p.config.Store.ListPeople(r.Context(), firm)
	if err != nil {
		return err
	}
	if err := p.nameIt(&c.ID); err != nil {
		return err
	}
	by, wrong := recorderIn(r, r.PostFormValue("recorder"), people, decides)
	c.By, wrong = by, merge(wrong, wrongOf(c.Check()))
	if len(wrong) == 0 {
		err = p.closeJob(r.Context(), c)
	}
	return p.decided(w, r, firm, decision{err: err, wrong: wrong, typed: func(page *web.ParticularsPage, overtaken bool) {
		page.By, page.Why = r.PostFormValue("recorder"), c.Why
		if overtaken {
			page.Overtook = "Something was recorded or decided meanwhile. Look at it, and press again if it is still to be so."
		}
	}})
}

// decision is what became of one, and how its form is filled in again.
type decision struct {
	err   error
	wrong web.Wrong
	typed func(page *web.ParticularsPage, overtaken bool)
}

// wrongOf is the field that an error is about, nothing where it is about none.
func wrongOf(err error) web.Wrong {
	if bad, ok := errors.AsType[*levelling.InputError](err); ok {
		return web.Wrong{bad.Field: bad.Cure}
	}
	return nil
}

// decided leads on where a decision was kept, and shows the form again, as it was
// typed, where it was not: 422 with the fields, or 409 where something came between.
func (p *pages) decided(w http.ResponseWriter, r *http.Request, firm events.ID, d decision) error {
	overtaken := errors.Is(d.err, events.ErrConflict)
	switch {
	case len(d.wrong) > 0 || overtaken:
	case d.err != nil:
		return d.err
	default:
		key, err := keyOf(r, firm)
		http.Redirect(w, r, "/jobs/"+key.job.String()+"/particulars", http.StatusSeeOther)
		return err
	}
	page, err := p.particularsPage(r, firm)
	if err != nil {
		return err
	}
	d.typed(&page, overtaken)
	if overtaken {
		return show(w, http.StatusConflict, page)
	}
	page.Wrong = d.wrong
	return show(w, http.StatusUnprocessableEntity, page)
}
