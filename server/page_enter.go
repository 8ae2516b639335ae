package server

import (
	"errors"
	"net/http"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// getEnter is GET /enter.
func (p *pages) getEnter(w http.ResponseWriter, r *http.Request) error {
	return show(w, http.StatusOK, p.enterPage())
}

func (p *pages) enterPage() web.EnterPage {
	return web.EnterPage{Frame: web.Frame{Title: "Sign in"}, Mail: p.mails(), Wrong: web.Wrong{}}
}

// postEnter is POST /enter: a name and a password, or a token. They travel in the
// body, so that they reach no log.
func (p *pages) postEnter(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	if token := r.PostFormValue("token"); token != "" {
		return p.postToken(w, r, token)
	}
	page := p.enterPage()
	page.Email = r.PostFormValue("email")
	name, err := jobs.ParseSignInName(page.Email)
	if bad, ok := errors.AsType[*levelling.InputError](err); ok {
		page.Wrong["email"] = bad.Cure
	}
	if r.PostFormValue("password") == "" {
		page.Wrong["password"] = "missing"
	}
	if len(page.Wrong) > 0 {
		return show(w, http.StatusUnprocessableEntity, page)
	}
	firm, _ := events.ParseID(r.PostFormValue("firm")) // zero: in all
	opened, err := p.open(r, name, r.PostFormValue("password"), firm)
	switch {
	case errors.Is(err, errNotOpened):
		return showNotOpened(w, page)
	case err != nil:
		return err
	case len(opened.accounts) > 1:
		for i, a := range opened.accounts {
			page.Firms = append(page.Firms, web.FirmChoice{ID: a.Firm.String(), Name: opened.names[i]})
		}
		return show(w, http.StatusOK, page)
	}
	err = p.signInAs(w, r, opened.accounts[0], "by password")
	switch {
	case isNotFound(err): // the password was replaced meanwhile, or its owner left
		return showNotOpened(w, page)
	case err != nil:
		return err
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

func showNotOpened(w http.ResponseWriter, page web.EnterPage) error {
	page.Wrong["password"] = "this address and this password open nothing: check both"
	return show(w, http.StatusUnprocessableEntity, page)
}

// postToken enters on behalf of a token.
func (p *pages) postToken(w http.ResponseWriter, r *http.Request, token string) error {
	err := p.enterByToken(w, r, token)
	if errors.Is(err, errUnauthorized) {
		page := p.enterPage()
		page.Wrong["token"] = "this access opens no page here: copy all of it, from rl_ to the end"
		return show(w, http.StatusUnprocessableEntity, page)
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

// postLeave is POST /leave.
func (p *pages) postLeave(w http.ResponseWriter, r *http.Request) error {
	if err := p.signOut(w, r); err != nil {
		return err
	}
	forgetPictures(w)
	http.Redirect(w, r, "/enter", http.StatusSeeOther)
	return nil
}

// forgetPictures has a browser forget what it kept of our answers, smaller photos that is.
// What a phone's app keeps for itself stays: it may not be sent yet.
func forgetPictures(w http.ResponseWriter) { w.Header().Set("Clear-Site-Data", `"cache"`) }
