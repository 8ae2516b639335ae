package server

import (
	"errors"
	"net/http"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/hooks"
	"relevel/server/web"
)

// getHooksPage is GET /hooks: what is told of what happens, and a form for another.
func (p *pages) getHooksPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.hooksPage(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) hooksPage(r *http.Request, firm events.ID) (page web.HooksPage, err error) {
	if page.Frame, err = p.firmFrame(r, firm, "Who is told"); err != nil {
		return page, err
	}
	page.Untold, page.Now, page.Offered = p.hooks == nil, p.nowOn(page.Frame), jobs.Happenings()
	page.Hooks, err = p.config.Store.ListHooks(r.Context(), firm)
	if err != nil {
		return page, err
	}
	id, err := events.NewID(p.config.Now(), p.config.Random)
	page.ID = id.String()
	return page, err
}

// postHooksPage is POST /hooks. The secret is shown on this page alone.
func (p *pages) postHooksPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	if err := r.ParseForm(); err != nil {
		return refuse(http.StatusBadRequest, "This form cannot be read: send it again.")
	}
	id, _ := events.ParseID(r.PostFormValue("id")) // zero: a new one
	h := jobs.Hook{Firm: firm, ID: id, Name: r.PostFormValue("name"), URL: r.PostFormValue("url")}
	for _, one := range r.PostForm["happenings"] {
		h.Happenings = append(h.Happenings, jobs.Happening(one))
	}
	kept, err := p.createHook(r, h)
	status := http.StatusCreated
	page := web.HooksPage{}
	switch bad := (*levelling.InputError)(nil); {
	case errors.As(err, &bad):
		status, page.Wrong = http.StatusUnprocessableEntity, web.Wrong{bad.Field: bad.Cure}
	case errors.Is(err, events.ErrConflict): // the form was sent before: its secret is shown once
		http.Redirect(w, r, "/hooks", http.StatusSeeOther)
		return nil
	case err != nil:
		return err
	}
	wrong := page.Wrong
	if page, err = p.hooksPage(r, firm); err != nil {
		return err
	}
	if page.Wrong = wrong; wrong != nil {
		page.Name, page.URL, page.Chosen = h.Name, h.URL, h.Happenings
		return show(w, status, page)
	}
	page.Made, page.Secret, page.Header = &kept, kept.Secret, hooks.SignatureHeader
	return show(w, status, page)
}

// getHookPage is GET /hooks/{hook}: one of them, with its last deliveries.
func (p *pages) getHookPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	h, err := p.findHook(r, firm)
	if err != nil {
		return err
	}
	page := web.HookPage{Hook: h, Untold: p.hooks == nil}
	if page.Frame, err = p.firmFrame(r, firm, h.Name+" is told"); err != nil {
		return err
	}
	page.Now = p.nowOn(page.Frame)
	if page.Deliveries, err = p.config.Store.ListDeliveries(r.Context(), firm, h.ID); err != nil {
		return err
	}
	all, err := p.config.Store.ListJobs(r.Context(), firm)
	if err != nil {
		return err
	}
	page.Jobs = map[string]string{}
	for _, j := range all {
		page.Jobs[j.ID.String()] = j.Name
	}
	return show(w, http.StatusOK, page)
}

// postHookActPage is POST /hooks/{hook}/{act}, as postHookAct.
func (p *pages) postHookActPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	if _, err := p.actOnHook(r, firm); err != nil {
		return err
	}
	at := "/hooks/" + mux.Vars(r)["hook"]
	if mux.Vars(r)["act"] == "delete" {
		at = "/hooks"
	}
	http.Redirect(w, r, at, http.StatusSeeOther)
	return nil
}
