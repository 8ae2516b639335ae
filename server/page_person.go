package server

import (
	"context"
	"net/http"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// personRoutes add what the office does about one person.
func (p *pages) personRoutes(own firmRoutes) {
	own.get("/people/{person}", p.getPersonPage)
	own.post("/people/{person}/role", p.postRole)
	own.post("/people/{person}/link", p.postLink)
	own.post("/people/{person}/link/revoke", p.postLinkRevoke)
	own.post("/people/{person}/leave", p.postPersonLeaves)
	own.post("/people/{person}/return", p.postPersonReturns)
}

// personOf finds whom an address is about.
func (p *pages) personOf(r *http.Request, firm events.ID) (jobs.Person, error) {
	id, err := events.ParseID(mux.Vars(r)["person"])
	if err != nil {
		return jobs.Person{}, events.ErrNotFound
	}
	return p.config.Store.FindPerson(r.Context(), firm, id)
}

// getPersonPage is GET /people/{person}.
func (p *pages) getPersonPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.personPage(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) personPage(r *http.Request, firm events.ID) (page web.PersonPage, err error) {
	one, err := p.personOf(r, firm)
	if err != nil {
		return page, err
	}
	if page.Frame, err = p.firmFrame(r, firm, one.Name); err != nil {
		return page, err
	}
	page.Person, page.Mail = one, p.mails()
	account, err := p.config.Store.FindAccount(r.Context(), firm, one.ID)
	if err != nil && !isNotFound(err) {
		return page, err
	}
	page.Email, page.SignsIn = account.Name, err == nil
	now := p.nowOn(page.Frame)
	if !one.LeftAt.IsZero() {
		page.Left = web.When(one.LeftAt.In(now.Location()), now)
	}
	open, err := p.config.Store.ListInvitations(r.Context(), firm, p.stamp())
	for _, i := range open {
		if i.Person == one.ID {
			page.Open, page.Until = i.ID.String(), web.When(i.ExpiresAt.In(now.Location()), now)
		}
	}
	return page, err
}

// postRole is POST /people/{person}/role.
func (p *pages) postRole(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	one, err := p.personOf(r, firm)
	if err != nil {
		return err
	}
	one.Role = jobs.Role(r.PostFormValue("role"))
	if err := one.Check(); err != nil {
		return err
	}
	if one.Role != jobs.Office {
		if err := p.needAnother(r.Context(), firm, one.ID); err != nil {
			return err
		}
	}
	if err := p.config.Store.ChangeRole(r.Context(), firm, one.ID, one.Role, p.stamp()); err != nil {
		return err
	}
	p.tokens.forget()
	return p.doneFor(w, r, firm, one.ID, jobs.Trace{What: jobs.RoleChanged, Detail: string(one.Role)})
}

// doneFor notes what was done about a person and leads back to their page.
func (p *pages) doneFor(w http.ResponseWriter, r *http.Request, firm, person events.ID, t jobs.Trace) error {
	t.About = person
	p.trail.note(firm, r, t)
	http.Redirect(w, r, "/people/"+person.String(), http.StatusSeeOther)
	return nil
}

// needAnother refuses to take the last account of the office away: nobody could give it
// back but whoever has the server.
func (p *pages) needAnother(ctx context.Context, firm, but events.ID) error {
	accounts, err := p.config.Store.ListAccounts(ctx, firm)
	if err != nil {
		return err
	}
	people, err := p.config.Store.ListPeople(ctx, firm)
	if err != nil {
		return err
	}
	runs := map[events.ID]bool{}
	for _, one := range people {
		runs[one.ID] = one.Role == jobs.Office && one.LeftAt.IsZero()
	}
	its, others := false, false
	for _, a := range accounts {
		its, others = its || (a.Person == but && runs[but]), others || (a.Person != but && runs[a.Person])
	}
	if its && !others {
		return refuse(http.StatusConflict, "Nobody else of the office has an account: give one to somebody first.")
	}
	return nil
}

// postLink is POST /people/{person}/link: a one-time link, shown on this page alone,
// and sent where an address was given.
func (p *pages) postLink(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	page, err := p.personPage(r, firm)
	if err != nil {
		return err
	}
	purpose := jobs.Invited
	if page.SignsIn {
		purpose = jobs.Reset
	}
	to := page.Email
	if page.Mail && !page.SignsIn && r.PostFormValue("email") != "" {
		to, err = jobs.ParseSignInName(r.PostFormValue("email"))
		if err != nil {
			page.To, page.Wrong = r.PostFormValue("email"), web.Wrong{}
			p.blame(page.Wrong, err, "email")
			return show(w, http.StatusUnprocessableEntity, page)
		}
	}
	secret, made, err := p.invite(r.Context(), firm, page.Person.ID, who(r).person.ID, purpose)
	if err != nil {
		return err
	}
	p.trail.note(firm, r, jobs.Trace{What: jobs.InvitationMade, About: page.Person.ID, Detail: string(purpose)})
	now := p.nowOn(page.Frame)
	page.Open, page.Until = made.ID.String(), web.When(made.ExpiresAt.In(now.Location()), now)
	page.Link = p.invitationLink(r, secret)
	if page.Mail && to != "" {
		page.To = to
		page.Unsent = p.mailLink(r, firm, to, purpose, page.Link)
	}
	return show(w, http.StatusCreated, page)
}

// mailLink sends a link, and reports whether that failed: the page shows it anyway.
func (p *pages) mailLink(r *http.Request, firm events.ID, to string, purpose jobs.Purpose, link string) (failed bool) {
	ctx, cancel := context.WithTimeout(r.Context(), mailTime)
	defer cancel()
	if err := p.sendLink(ctx, firm, to, purpose, link); err != nil {
		p.config.Logger.ErrorContext(ctx, "send a link", "err", err)
		return true
	}
	return false
}

// postLinkRevoke is POST /people/{person}/link/revoke.
func (p *pages) postLinkRevoke(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.personPage(r, firm)
	if err != nil {
		return err
	}
	if id, err := events.ParseID(page.Open); err == nil {
		if err := p.config.Store.RevokeInvitation(r.Context(), firm, id, p.stamp()); err != nil {
			return err
		}
	}
	return p.doneFor(w, r, firm, page.Person.ID, jobs.Trace{What: jobs.InvitationOver})
}

// postPersonLeaves is POST /people/{person}/leave.
func (p *pages) postPersonLeaves(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	one, err := p.personOf(r, firm)
	if err != nil {
		return err
	}
	if err := p.needAnother(r.Context(), firm, one.ID); err != nil {
		return err
	}
	if err := p.config.Store.LeaveFirm(r.Context(), firm, one.ID, p.stamp()); err != nil {
		return err
	}
	p.tokens.forget()
	return p.doneFor(w, r, firm, one.ID, jobs.Trace{What: jobs.PersonLeft})
}

// postPersonReturns is POST /people/{person}/return.
func (p *pages) postPersonReturns(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	one, err := p.personOf(r, firm)
	if err != nil {
		return err
	}
	if err := p.config.Store.ReturnToFirm(r.Context(), firm, one.ID); err != nil {
		return err
	}
	return p.doneFor(w, r, firm, one.ID, jobs.Trace{What: jobs.PersonBack})
}
