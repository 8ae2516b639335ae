package server

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"net/http"
	"strings"
	"sync"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/watch"
)

// asker is who a request speaks for: a program or a phone by its token, or a browser
// by its session, and so mostly a person.
type asker struct {
	firm    events.ID
	person  jobs.Person // zero where it is nobody in particular
	token   jobs.Token  // zero where a person signed in
	session events.ID   // zero where a token was sent
	since   time.Time   // when the session began
}

// who is on whose behalf a request is answered. Before forFirm has found out it is
// nobody.
func who(r *http.Request) asker {
	if a := askedBy(r); a != nil {
		return a.by
	}
	return asker{}
}

// whoAsks finds out who a request speaks for. Programs send a token in the
// Authorization header, browsers a session in a cookie; if both are there the header
// counts. What is not valid is refused with 401.
func (s *Server) whoAsks(r *http.Request) (a asker, err error) {
	defer func() {
		if err == nil {
			watch.Of(r.Context()).Set(watch.Firm, a.firm.String())
		}
	}()
	if header := r.Header.Get("Authorization"); header != "" {
		token, err := s.tokens.find(r.Context(), bearer(header))
		return asker{firm: token.Firm, token: token}, err
	}
	cookie, err := r.Cookie(cookieName(r))
	if err != nil {
		return asker{}, errUnauthorized
	}
	return s.sitting(r.Context(), cookie.Value)
}

// bearer returns the token of an Authorization header, "" without one.
func bearer(header string) string {
	scheme, text, _ := strings.Cut(header, " ")
	if !strings.EqualFold(scheme, "Bearer") {
		return ""
	}
	return strings.TrimSpace(text)
}

// seenEvery is how often it is noted that a session is used.
const seenEvery = time.Hour

// sitting returns who a session speaks for. It is looked up each time, so that one
// that was ended is over at once, whichever server ended it.
func (s *Server) sitting(ctx context.Context, text string) (asker, error) {
	firm, hash, err := jobs.ParseSession(text)
	if err != nil {
		return asker{}, errUnauthorized
	}
	now := s.stamp()
	sitting, err := s.config.Store.FindSession(ctx, firm, hash, now)
	if errors.Is(err, events.ErrNotFound) {
		return asker{}, errUnauthorized
	}
	if err != nil {
		return asker{}, err
	}
	s.tokens.remember(tokenKey{firm, hash}, sitting.Token)
	if one := sitting.Session; now.Sub(one.SeenAt) >= seenEvery {
		if err := s.config.Store.SeeSession(ctx, firm, one.ID, now); err != nil {
			s.config.Logger.WarnContext(ctx, "note that a session is used", "err", err)
		}
	}
	return asker{firm: firm, person: sitting.Person, token: sitting.Token, session: sitting.Session.ID, since: sitting.Session.CreatedAt}, nil
}

// cookieName is __Host-relevel over https: browsers then refuse to let another
// host or a plain connection set it.
func cookieName(r *http.Request) string { return hostCookie(r, "relevel") }

// browserName is the cookie by which a browser is known on which somebody signed in
// before. It opens nothing.
func browserName(r *http.Request) string { return hostCookie(r, "relevel-browser") }

func hostCookie(r *http.Request, name string) string {
	if isHTTPS(r) {
		return "__Host-" + name
	}
	return name
}

func isHTTPS(r *http.Request) bool {
	return r.TLS != nil || strings.EqualFold(r.Header.Get("X-Forwarded-Proto"), "https")
}

// signIn makes a session and gives it to the browser, in a cookie that scripts cannot
// read. One that it had before is left to its end: it may be another firm's. Where a
// password opened it, that is given as it is kept; if it was replaced meanwhile it opens
// nothing.
func (s *Server) signIn(w http.ResponseWriter, r *http.Request, one jobs.Session, password string) error {
	text, hash, err := jobs.NewSession(one.Firm, s.config.Random)
	if err != nil {
		return err
	}
	browser, err := s.browserOf(w, r)
	if err != nil {
		return err
	}
	now := s.stamp()
	one.Hash, one.Browser, one.Agent = hash, browser, agentOf(r)
	one.CreatedAt, one.SeenAt, one.ExpiresAt = now, now, now.Add(jobs.SessionLasts)
	if err := s.nameIt(&one.ID); err != nil {
		return err
	}
	if err := s.config.Store.CreateSession(r.Context(), one, password); err != nil {
		return err
	}
	http.SetCookie(w, safeCookie(r, cookieName(r), text, jobs.SessionLasts))
	return nil
}

// enterByToken lets a browser in on behalf of a token, and of the person in whose name
// it is. Only one that opens everything does that: what a phone or a report was given
// is no way into the office.
func (s *Server) enterByToken(w http.ResponseWriter, r *http.Request, text string) error {
	token, err := s.tokens.find(r.Context(), strings.TrimSpace(text))
	if err != nil {
		return err
	}
	if token.Scope != jobs.ScopeEverything {
		return errUnauthorized
	}
	if err := s.signIn(w, r, jobs.Session{Firm: token.Firm, Person: token.Person, Token: token.ID}, ""); err != nil {
		return err
	}
	s.trail.note(token.Firm, r, jobs.Trace{What: jobs.SignedIn, By: token.Person, Token: token.ID, Detail: "by a token"})
	return nil
}

// signOut ends the session and takes the cookie away.
func (s *Server) signOut(w http.ResponseWriter, r *http.Request) error {
	http.SetCookie(w, safeCookie(r, cookieName(r), "", -time.Second))
	a, err := s.whoAsks(r)
	if errors.Is(err, errUnauthorized) || (err == nil && a.session.IsZero()) {
		return nil
	}
	if err != nil {
		return err
	}
	s.trail.note(a.firm, r, jobs.Trace{What: jobs.SignedOut, By: a.person.ID, Token: a.token.ID})
	return s.config.Store.EndSession(r.Context(), a.firm, a.person.ID, a.session, s.stamp())
}

// browserLasts is how long a browser is known after somebody signed in on it.
const browserLasts = 365 * 24 * time.Hour

// browserOf returns the hash of the secret by which this browser is known, and gives
// it one if it has none.
func (s *Server) browserOf(w http.ResponseWriter, r *http.Request) (events.Digest, error) {
	if hash, ok := knownBrowser(r); ok {
		return hash, nil
	}
	var secret [32]byte
	if _, err := io.ReadFull(s.config.Random, secret[:]); err != nil {
		return events.Digest{}, err
	}
	http.SetCookie(w, safeCookie(r, browserName(r), hex.EncodeToString(secret[:]), browserLasts))
	return sha256.Sum256(secret[:]), nil
}

// knownBrowser is the hash of the secret that a browser shows.
func knownBrowser(r *http.Request) (events.Digest, bool) {
	cookie, err := r.Cookie(browserName(r))
	if err != nil {
		return events.Digest{}, false
	}
	secret, err := hex.DecodeString(cookie.Value)
	return sha256.Sum256(secret), err == nil && len(secret) == 32
}

func safeCookie(r *http.Request, name, value string, lasts time.Duration) *http.Cookie {
	return &http.Cookie{
		Name: name, Value: value, Path: "/", MaxAge: int(lasts / time.Second),
		HttpOnly: true, Secure: isHTTPS(r), SameSite: http.SameSiteLaxMode,
	}
}

const (
	tokenMemory = 30 * time.Second // a revoked token works no longer than this
	maxTokens   = 10000
)

// tokens remembers for a short while which tokens are valid, and of sessions that they
// were, for the limits per sender. It keeps hashes.
type tokens struct {
	store jobs.Tokens
	now   func() time.Time

	mu    sync.Mutex
	known map[tokenKey]knownToken
}

type tokenKey struct {
	firm events.ID
	hash events.Digest
}

type knownToken struct {
	token jobs.Token
	until time.Time
}

// find returns a valid token.
func (t *tokens) find(ctx context.Context, text string) (jobs.Token, error) {
	firm, hash, err := jobs.ParseToken(text)
	if err != nil {
		return jobs.Token{}, errUnauthorized
	}
	key := tokenKey{firm, hash}
	if token, ok := t.recall(key); ok && token.Hash == hash {
		return token, nil
	}
	token, err := t.store.FindToken(ctx, firm, hash)
	if errors.Is(err, events.ErrNotFound) {
		return jobs.Token{}, errUnauthorized
	}
	if err != nil {
		return jobs.Token{}, err
	}
	t.remember(key, token)
	return token, nil
}

// forget makes the next request of every token look it up again.
func (t *tokens) forget() {
	t.mu.Lock()
	defer t.mu.Unlock()
	clear(t.known)
}

func (t *tokens) recall(key tokenKey) (jobs.Token, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	known := t.known[key]
	return known.token, t.now().Before(known.until)
}

func (t *tokens) remember(key tokenKey, token jobs.Token) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if len(t.known) >= maxTokens {
		clear(t.known)
	}
	t.known[key] = knownToken{token, t.now().Add(tokenMemory)}
}
