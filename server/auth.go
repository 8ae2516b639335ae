package server

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"sync"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// firmOf returns the firm a request speaks for. Programs send the token in the
// Authorization header, browsers in a cookie; if both are there the header
// counts. What is no valid token is refused with 401.
func (s *Server) firmOf(r *http.Request) (events.ID, error) {
	text := tokenOf(r)
	if text == "" {
		return events.ID{}, errUnauthorized
	}
	return s.tokens.firm(r.Context(), text)
}

// tokenOf returns the text of a request's token, "" without one.
func tokenOf(r *http.Request) string {
	if header := r.Header.Get("Authorization"); header != "" {
		scheme, text, _ := strings.Cut(header, " ")
		if !strings.EqualFold(scheme, "Bearer") {
			return ""
		}
		return strings.TrimSpace(text)
	}
	if cookie, err := r.Cookie(cookieName(r)); err == nil {
		return cookie.Value
	}
	return ""
}

// cookieName is __Host-relevel over https: browsers then refuse to let another
// host or a plain connection set it.
func cookieName(r *http.Request) string {
	if isHTTPS(r) {
		return "__Host-relevel"
	}
	return "relevel"
}

func isHTTPS(r *http.Request) bool {
	return r.TLS != nil || strings.EqualFold(r.Header.Get("X-Forwarded-Proto"), "https")
}

// cookieDays is how long a browser stays signed in.
const cookieDays = 90

// signIn checks a token and puts it into a cookie that scripts cannot read.
func (s *Server) signIn(w http.ResponseWriter, r *http.Request, text string) (events.ID, error) {
	firm, err := s.tokens.firm(r.Context(), strings.TrimSpace(text))
	if err != nil {
		return events.ID{}, err
	}
	http.SetCookie(w, sessionCookie(r, strings.TrimSpace(text), cookieDays*24*60*60))
	return firm, nil
}

// signOut takes the cookie away.
func (s *Server) signOut(w http.ResponseWriter, r *http.Request) {
	http.SetCookie(w, sessionCookie(r, "", -1))
}

func sessionCookie(r *http.Request, value string, maxAge int) *http.Cookie {
	return &http.Cookie{
		Name: cookieName(r), Value: value, Path: "/", MaxAge: maxAge,
		HttpOnly: true, Secure: isHTTPS(r), SameSite: http.SameSiteLaxMode,
	}
}

const (
	tokenMemory = 30 * time.Second // a revoked token works no longer than this
	maxTokens   = 10000
)

// tokens remembers for a short while which tokens are valid. It keeps hashes.
type tokens struct {
	store jobs.Tokens
	now   func() time.Time

	mu    sync.Mutex
	known map[tokenKey]time.Time // until when
}

type tokenKey struct {
	firm events.ID
	hash events.Digest
}

// firm returns the firm of a valid token.
func (t *tokens) firm(ctx context.Context, text string) (events.ID, error) {
	firm, hash, err := jobs.ParseToken(text)
	if err != nil {
		return events.ID{}, errUnauthorized
	}
	key := tokenKey{firm, hash}
	if t.remembers(key) {
		return firm, nil
	}
	_, err = t.store.FindToken(ctx, firm, hash)
	if errors.Is(err, events.ErrNotFound) {
		return events.ID{}, errUnauthorized
	}
	if err != nil {
		return events.ID{}, err
	}
	t.remember(key)
	return firm, nil
}

// forget makes the next request of every token look it up again.
func (t *tokens) forget() {
	t.mu.Lock()
	defer t.mu.Unlock()
	clear(t.known)
}

func (t *tokens) remembers(key tokenKey) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.now().Before(t.known[key])
}

func (t *tokens) remember(key tokenKey) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if len(t.known) >= maxTokens {
		clear(t.known)
	}
	t.known[key] = t.now().Add(tokenMemory)
}
