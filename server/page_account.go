package server

import (
	"net/http"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// getAccount is GET /account: how one signs in, and where one is signed in.
func (p *pages) getAccount(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.accountPage(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) accountPage(r *http.Request, firm events.ID) (page web.AccountPage, err error) {
	if page.Frame, err = p.firmFrame(r, firm, "Your account"); err != nil {
		return page, err
	}
	a := who(r)
	page.Person, page.Access, page.Wrong = a.person, a.token.Name, web.Wrong{}
	if a.person.ID.IsZero() {
		return page, nil
	}
	account, err := p.config.Store.FindAccount(r.Context(), firm, a.person.ID)
	if err != nil && !isNotFound(err) {
		return page, err
	}
	page.Email, page.HasPassword, page.HasAccount = account.Name, account.Password != "", err == nil
	now := p.nowOn(page.Frame)
	sessions, err := p.config.Store.ListSessions(r.Context(), firm, a.person.ID, p.stamp())
	if err != nil {
		return page, err
	}
	for _, one := range sessions {
		page.Sessions = append(page.Sessions, web.SessionLine{
			ID: one.ID.String(), Agent: web.BrowserName(one.Agent), Since: web.When(one.CreatedAt.In(now.Location()), now),
			Seen: web.When(one.SeenAt.In(now.Location()), now), This: one.ID == a.session,
		})
	}
	keys, err := p.config.Store.ListPasskeys(r.Context(), firm, a.person.ID)
	for _, k := range keys {
		line := web.PasskeyLine{ID: k.ID.String(), Name: k.Name, Since: web.When(k.CreatedAt.In(now.Location()), now)}
		if !k.UsedAt.IsZero() {
			line.Used = web.When(k.UsedAt.In(now.Location()), now)
		}
		page.Passkeys = append(page.Passkeys, line)
	}
	return page, err
}

// ownAccount is the account of whoever asks.
func (p *pages) ownAccount(r *http.Request, firm events.ID) (jobs.Account, error) {
	account, err := p.config.Store.FindAccount(r.Context(), firm, who(r).person.ID)
	if isNotFound(err) {
		return account, refuse(http.StatusConflict, "You have no account of your own yet: ask the office for a link.")
	}
	return account, err
}

// postPassword is POST /account/password. Other browsers on which one is signed in are
// signed out.
func (p *pages) postPassword(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	account, err := p.ownAccount(r, firm)
	if err != nil {
		return err
	}
	page, err := p.accountPage(r, firm)
	if err != nil {
		return err
	}
	right, err := p.confirms(r, account)
	if err != nil {
		return err
	}
	if !right {
		page.Wrong["present"] = "not the password you have now"
	}
	p.blame(page.Wrong, jobs.CheckPassword(r.PostFormValue("password"), account.Name), "password")
	if len(page.Wrong) > 0 {
		return show(w, http.StatusUnprocessableEntity, page)
	}
	if err := p.setPassword(r.Context(), account, r.PostFormValue("password"), who(r).session); err != nil {
		return err
	}
	p.trail.note(firm, r, jobs.Trace{What: jobs.PasswordSet})
	http.Redirect(w, r, "/account", http.StatusSeeOther)
	return nil
}

// freshFor is how long after signing in somebody may add what opens their account.
const freshFor = 10 * time.Minute

// needFresh refuses what would open an account for good to whoever found a browser
// signed in, or holds a token in its owner's name.
func (p *pages) needFresh(r *http.Request) error {
	if a := who(r); !a.token.ID.IsZero() || p.stamp().Sub(a.since) > freshFor {
		return refuse(http.StatusForbidden, "Sign out and in again first, and do this within ten minutes: it opens your account.")
	}
	return nil
}

// confirms reports whether somebody gave the password they have now. Who only uses
// passkeys has none to give, and signs in anew. The tries are counted by session, of which whoever took
// one over has no other.
func (p *pages) confirms(r *http.Request, a jobs.Account) (bool, error) {
	if a.Password == "" {
		err := p.needFresh(r)
		return err == nil, err
	}
	session := who(r).session
	if err := p.doors.names.enter(r.Context(), string(session[:])); err != nil {
		return false, err
	}
	matches, err := p.config.Passwords.Match(r.Context(), r.PostFormValue("present"), []string{a.Password})
	return err == nil && matches[0], err
}

// postPasswordRemove is POST /account/password/remove: from then on passkeys alone open
// the account.
func (p *pages) postPasswordRemove(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	account, err := p.ownAccount(r, firm)
	if err != nil {
		return err
	}
	page, err := p.accountPage(r, firm)
	if err != nil {
		return err
	}
	right, err := p.confirms(r, account)
	switch {
	case err != nil:
		return err
	case len(page.Passkeys) == 0:
		return refuse(http.StatusConflict, "Add a passkey first: without one and without a password nothing would open your account.")
	case !right:
		page.Wrong["present"] = "not the password you have now"
		return show(w, http.StatusUnprocessableEntity, page)
	}
	account.Password = ""
	if err := p.config.Store.SaveAccount(r.Context(), account, who(r).session, p.stamp()); err != nil {
		return err
	}
	p.trail.note(firm, r, jobs.Trace{What: jobs.PasswordGone})
	http.Redirect(w, r, "/account", http.StatusSeeOther)
	return nil
}

// postSessionEnd is POST /account/sessions/end: of one browser, or of all others.
func (p *pages) postSessionEnd(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	a := who(r)
	if a.person.ID.IsZero() {
		return refuse(http.StatusConflict, "Nobody in particular is signed in here.")
	}
	id, err := events.ParseID(r.PostFormValue("session"))
	if err == nil {
		err = p.config.Store.EndSession(r.Context(), firm, a.person.ID, id, p.stamp())
	} else {
		err = p.config.Store.EndSessions(r.Context(), firm, a.person.ID, a.session, p.stamp())
	}
	if err != nil {
		return err
	}
	p.trail.note(firm, r, jobs.Trace{What: jobs.SessionEnded})
	http.Redirect(w, r, "/account", http.StatusSeeOther)
	return nil
}
