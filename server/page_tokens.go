package server

import (
	"errors"
	"net/http"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// getTokens is GET /tokens: what programs open the firm's jobs with.
func (p *pages) getTokens(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.tokensPage(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) tokensPage(r *http.Request, firm events.ID) (page web.TokensPage, err error) {
	if page.Frame, err = p.firmFrame(r, firm, "Tokens"); err != nil {
		return page, err
	}
	page.Scope = jobs.ScopeRead
	list, err := p.accesses(r, firm)
	now := p.nowOn(page.Frame)
	for _, one := range list {
		if one.Scope == jobs.ScopePhone {
			continue
		}
		line := web.TokenLine{ID: one.ID.String(), Name: one.Name, Scope: one.Scope, Since: web.When(one.CreatedAt.In(now.Location()), now), This: one.This}
		if one.RevokedAt != nil {
			line.Revoked = web.When(one.RevokedAt.In(now.Location()), now)
		}
		page.Tokens = append(page.Tokens, line)
	}
	return page, err
}

// postTokens is POST /tokens: a token, shown on this page alone.
func (p *pages) postTokens(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	one := jobs.Token{Firm: firm, Name: strings.TrimSpace(r.PostFormValue("name")), Scope: jobs.Scope(r.PostFormValue("scope"))}
	text, err := p.makeToken(r, one)
	bad, isBad := errors.AsType[*levelling.InputError](err)
	if err != nil && !isBad {
		return err
	}
	page, err := p.tokensPage(r, firm)
	if err != nil {
		return err
	}
	if isBad {
		page.Name, page.Scope, page.Wrong = one.Name, one.Scope, web.Wrong{bad.Field: bad.Cure}
		return show(w, http.StatusUnprocessableEntity, page)
	}
	page.Made = text
	return show(w, http.StatusCreated, page)
}

// makeToken makes a token of nobody in particular, and returns its text.
func (s *Server) makeToken(r *http.Request, one jobs.Token) (text string, err error) {
	if err := jobs.CheckTokenName(one.Name); err != nil {
		return "", err
	}
	if one.Scope != jobs.ScopeRead && one.Scope != jobs.ScopeEverything {
		return "", levelling.Bad("scope", "read or everything: phones are paired")
	}
	if text, one.Hash, err = jobs.NewToken(one.Firm, s.config.Random); err != nil {
		return "", err
	}
	one.CreatedAt = s.stamp()
	if err := s.nameIt(&one.ID); err != nil {
		return "", err
	}
	if err := s.config.Store.CreateToken(r.Context(), one); err != nil {
		return "", err
	}
	s.trail.note(one.Firm, r, jobs.Trace{What: jobs.TokenMade, About: one.ID, Detail: string(one.Scope)})
	return text, nil
}

// postTokenRevoke is POST /tokens/revoke.
func (p *pages) postTokenRevoke(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	id, err := events.ParseID(r.PostFormValue("token"))
	if err != nil {
		return refuse(http.StatusNotFound, "There is no such token.")
	}
	if err := p.revoke(r, firm, id); err != nil {
		return err
	}
	http.Redirect(w, r, "/tokens", http.StatusSeeOther)
	return nil
}
