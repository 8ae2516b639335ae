package server

import (
	"errors"
	"net/http"

	"relevel/server/web"
)

// getEnter is GET /enter.
func (p *pages) getEnter(w http.ResponseWriter, r *http.Request) error {
	return show(w, http.StatusOK, web.EnterPage{Frame: web.Frame{Title: "Enter"}})
}

// postEnter is POST /enter. The access travels in the body, so that it reaches
// no log.
func (p *pages) postEnter(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	_, err := p.signIn(w, r, r.PostFormValue("token"))
	if errors.Is(err, errUnauthorized) {
		return show(w, http.StatusUnprocessableEntity, web.EnterPage{
			Frame: web.Frame{Title: "Enter"}, Wrong: "This access does not open anything: copy all of it, from rl_ to the end.",
		})
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

// postLeave is POST /leave.
func (p *pages) postLeave(w http.ResponseWriter, r *http.Request) error {
	p.signOut(w, r)
	http.Redirect(w, r, "/enter", http.StatusSeeOther)
	return nil
}
