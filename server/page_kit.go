package server

import (
	"errors"
	"net/http"

	"relevel/events"
	"relevel/server/web"
)

// getKitPage is GET /kit: the jacks, and how the firm goes about lifting.
func (p *pages) getKitPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.kitPage(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) kitPage(r *http.Request, firm events.ID) (page web.KitPage, err error) {
	if page.Frame, err = p.firmFrame(r, firm, "Jacks and lifting"); err != nil {
		return page, err
	}
	jacks, err := p.config.Store.ListJacks(r.Context(), firm)
	if err != nil {
		return page, err
	}
	practice, err := p.config.Store.FindPractice(r.Context(), firm)
	if err != nil {
		return page, err
	}
	now := p.config.Now()
	for _, j := range jacks {
		page.Jacks = append(page.Jacks, web.KitJack{Jack: j, Due: j.Due(now)})
	}
	page.Practice = web.PracticeTyped(practice)
	id, err := events.NewID(now, p.config.Random)
	page.ID = id.String()
	return page, err
}

// postJackPage is POST /kit/jacks. The id was made with the form, so that a
// double press adds one.
func (p *pages) postJackPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	id, _ := events.ParseID(r.PostFormValue("id")) // zero: a new one
	j, wrong := web.JackOf(r.PostForm)
	j.ID = id
	if len(wrong) == 0 {
		_, err := p.createJack(r.Context(), firm, j)
		if err == nil || errors.Is(err, events.ErrConflict) { // sent before
			http.Redirect(w, r, "/kit", http.StatusSeeOther)
			return nil
		}
		return err
	}
	page, err := p.kitPage(r, firm)
	if err != nil {
		return err
	}
	page.ID, page.Typed, page.Wrong = r.PostForm.Get("id"), r.PostForm, wrong
	return show(w, http.StatusUnprocessableEntity, page)
}

// postPracticePage is POST /kit/practice.
func (p *pages) postPracticePage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	id, _ := events.ParseID(r.PostFormValue("id"))
	practice, wrong := web.PracticeOf(r.PostForm)
	practice.ID = id
	if len(wrong) == 0 {
		_, err := p.createPractice(r.Context(), firm, practice)
		if err == nil || errors.Is(err, events.ErrConflict) {
			http.Redirect(w, r, "/kit#practice", http.StatusSeeOther)
			return nil
		}
		return err
	}
	page, err := p.kitPage(r, firm)
	if err != nil {
		return err
	}
	page.Practice, page.Wrong = r.PostForm, wrong
	return show(w, http.StatusUnprocessableEntity, page)
}
