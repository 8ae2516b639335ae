package server

import (
	"cmp"
	"errors"
	"net/http"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// accountRoutes add how people come to an account and keep it.
func (p *pages) accountRoutes(own firmRoutes) {
	open := func(path string, f func(http.ResponseWriter, *http.Request) error, methods ...string) {
		own.r.Handle(path, p.answer(f)).Methods(methods...)
	}
	open("/invitation", p.getInvitation, http.MethodGet, http.MethodHead)
	open("/invitation", p.postInvitation, http.MethodPost)
	open("/invitation/accept", p.postAccept, http.MethodPost)
	open("/reset", p.getReset, http.MethodGet, http.MethodHead)
	open("/reset", p.postReset, http.MethodPost)
	open("/enter/passkey/options", p.postEnterOptions, http.MethodPost)
	open("/enter/passkey", p.postEnterPasskey, http.MethodPost)
	own.get("/account", p.getAccount)
	own.post("/account/passkeys/options", p.postPasskeyOptions)
	own.post("/account/passkeys", p.postPasskey)
	own.post("/account/passkeys/remove", p.postPasskeyRemove)
	own.post("/account/password", p.postPassword)
	own.post("/account/password/remove", p.postPasswordRemove)
	own.post("/account/sessions/end", p.postSessionEnd)
	own.get("/tokens", p.getTokens)
	own.post("/tokens", p.postTokens)
	own.post("/tokens/revoke", p.postTokenRevoke)
	own.get("/trail", p.getTrail)
}

// getInvitation is GET /invitation: what stands behind the # stays in the browser,
// whose script posts it; without script it is put in by hand.
func (p *pages) getInvitation(w http.ResponseWriter, _ *http.Request) error {
	return show(w, http.StatusOK, web.InvitationPage{Frame: web.Frame{Title: "A link from the office"}, Wrong: web.Wrong{}})
}

// postInvitation is POST /invitation: the link is looked at, and not used up yet.
func (p *pages) postInvitation(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	link := r.PostFormValue("link")
	i, err := p.findInvitation(r, link)
	if errors.Is(err, errNoInvitation) {
		return show(w, http.StatusUnprocessableEntity, web.InvitationPage{
			Frame: web.Frame{Title: "A link from the office"}, Wrong: web.Wrong{"link": err.Error()},
		})
	}
	if err != nil {
		return err
	}
	page, err := p.arrivalPage(r, i, link)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

// arrivalPage is the form of a link: of the first person it asks for the firm, too.
func (p *pages) arrivalPage(r *http.Request, i jobs.Invitation, link string) (page web.ArrivalPage, err error) {
	firm, err := p.config.Store.FindFirm(r.Context(), i.Firm)
	if err != nil {
		return page, err
	}
	page = web.ArrivalPage{Frame: web.Frame{Title: "Your account"}, Link: link, First: i.Purpose == jobs.First, Of: firm.Name, Region: firm.Words, Wrong: web.Wrong{}}
	if page.First {
		return page, nil
	}
	person, err := p.config.Store.FindPerson(r.Context(), i.Firm, i.Person)
	if err != nil {
		return page, err
	}
	page.Name = person.Name
	account, err := p.config.Store.FindAccount(r.Context(), i.Firm, i.Person)
	if isNotFound(err) {
		return page, nil
	}
	page.Email, page.Reset = account.Name, true
	return page, err
}

// postAccept is POST /invitation/accept: the account is made and the link is used up.
func (p *pages) postAccept(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	i, err := p.findInvitation(r, r.PostFormValue("link"))
	if err != nil {
		return err
	}
	page, err := p.arrivalPage(r, i, r.PostFormValue("link"))
	if err != nil {
		return err
	}
	arrival, err := p.readArrival(r, i, &page)
	if err != nil {
		return err
	}
	if len(page.Wrong) > 0 {
		return show(w, http.StatusUnprocessableEntity, page)
	}
	if arrival.Account.Password, err = p.hashFor(r.Context(), arrival.Account, r.PostFormValue("password")); err != nil {
		return err
	}
	err = p.config.Store.TakeInvitation(r.Context(), i.Hash, p.stamp(), arrival)
	switch {
	case errors.Is(err, events.ErrConflict):
		page.Wrong["email"] = "somebody else of this firm signs in by that address"
		return show(w, http.StatusUnprocessableEntity, page)
	case isNotFound(err):
		return errNoInvitation
	case err != nil:
		return err
	}
	p.trail.note(i.Firm, r, jobs.Trace{What: jobs.InvitationUsed, By: arrival.Account.Person, Detail: string(i.Purpose)})
	if err := p.signInAs(w, r, arrival.Account, "by a link"); err != nil {
		return err
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

// readArrival reads what was filled in, and puts what is wrong on the page.
func (p *pages) readArrival(r *http.Request, i jobs.Invitation, page *web.ArrivalPage) (a jobs.Arrival, err error) {
	now := p.stamp()
	a.Firm = jobs.Firm{ID: i.Firm, Name: page.Of, Words: page.Region}
	a.Account = jobs.Account{Firm: i.Firm, Person: i.Person, Name: page.Email, CreatedAt: now}
	if page.First {
		a.Firm.Name, a.Firm.Words = strings.TrimSpace(r.PostFormValue("firm")), jobs.Region(r.PostFormValue("words"))
		a.Person = jobs.Person{Firm: i.Firm, Name: strings.TrimSpace(r.PostFormValue("name")), Role: jobs.Office, CreatedAt: now}
		page.Of, page.Region, page.Name = a.Firm.Name, a.Firm.Words, a.Person.Name
		p.blame(page.Wrong, a.Person.Check(), "name")
		p.blame(page.Wrong, a.Firm.Check(), "firm")
		if err := p.nameIt(&a.Person.ID); err != nil {
			return a, err
		}
		a.Account.Person = a.Person.ID
	}
	if !page.Reset {
		page.Email = r.PostFormValue("email")
		a.Account.Name, err = jobs.ParseSignInName(page.Email)
		p.blame(page.Wrong, err, "email")
	}
	p.blame(page.Wrong, jobs.CheckPassword(r.PostFormValue("password"), a.Account.Name), "password")
	return a, nil
}

// blame puts the cure of a field on the page, under the name it has there.
func (p *pages) blame(wrong web.Wrong, err error, field string) {
	if bad, ok := errors.AsType[*levelling.InputError](err); ok {
		wrong[field] = bad.Cure
	}
}

// getReset is GET /reset.
func (p *pages) getReset(w http.ResponseWriter, _ *http.Request) error {
	return show(w, http.StatusOK, p.resetPage())
}

func (p *pages) resetPage() web.ResetPage {
	return web.ResetPage{Frame: web.Frame{Title: "A new password"}, Mail: p.mails()}
}

// postReset is POST /reset. Whether the address is somebody's, neither the answer nor
// its time tells: the letter is written behind it.
func (p *pages) postReset(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	page := p.resetPage()
	if !page.Mail {
		return show(w, http.StatusOK, page)
	}
	page.Email = r.PostFormValue("email")
	name, err := jobs.ParseSignInName(page.Email)
	if bad, ok := errors.AsType[*levelling.InputError](err); ok {
		page.Wrong = bad.Cure
		return show(w, http.StatusUnprocessableEntity, page)
	}
	hash := jobs.HashName(name)
	if err := p.doors.addresses.enter(r.Context(), p.senderNetwork(r)); err != nil {
		return err
	}
	page.Sent = cmp.Or(name, page.Email)
	switch err := p.doors.resets.enter(r.Context(), string(hash[:])); {
	case err == nil:
		p.sendReset(r, name)
	case !errors.Is(err, errTooManyTries):
		return err
	}
	return show(w, http.StatusOK, page)
}
