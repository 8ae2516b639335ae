package jobs

import (
	"context"
	"io"
	"time"

	"relevel/events"
)

// Sessions keep browsers signed in. Only hashes of what the browsers hold are kept.
type Sessions interface {
	// CreateSession signs a browser in. Its person or its token must be there, or it
	// is events.ErrNotFound. Where a password opened it, that is given as the account
	// keeps it: one that was replaced meanwhile, however late, is events.ErrNotFound too.
	CreateSession(ctx context.Context, s Session, password string) error
	// FindSession returns who a session speaks for at that time. One that is over is
	// events.ErrNotFound, as is one whose person left or whose token was revoked.
	FindSession(ctx context.Context, firm events.ID, hash events.Digest, at time.Time) (Sitting, error)
	// SeeSession notes when a session was last used.
	SeeSession(ctx context.Context, firm, id events.ID, at time.Time) error
	// EndSession ends a session of a person, or of no person where that is zero.
	EndSession(ctx context.Context, firm, person, id events.ID, at time.Time) error
	// EndSessions ends all sessions of a person but one.
	EndSessions(ctx context.Context, firm, person, except events.ID, at time.Time) error
	// ListSessions returns a person's sessions that are not over, the newest first.
	ListSessions(ctx context.Context, firm, person events.ID, at time.Time) ([]Session, error)
	// KnowsBrowser reports whether a person ever signed in on a browser.
	KnowsBrowser(ctx context.Context, firm, person events.ID, browser events.Digest) (bool, error)
}

// SessionLasts is how long a browser stays signed in.
const SessionLasts = 30 * 24 * time.Hour

// Session is one browser that is signed in: by a person, or by a token.
type Session struct {
	Firm      events.ID
	ID        events.ID
	Hash      events.Digest // SHA-256 of the secret part
	Person    events.ID     // zero where a token of nobody's was given
	Token     events.ID     // zero where a person signed in
	Browser   events.Digest // of a secret that this browser keeps, however often somebody signs in
	Agent     string        // what the browser calls itself
	CreatedAt time.Time
	SeenAt    time.Time
	ExpiresAt time.Time
}

// Sitting is a session with whom it speaks for: each as it is now, or empty.
type Sitting struct {
	Session Session
	Person  Person
	Token   Token
}

// NewSession makes the text that a browser keeps and the hash that is kept of it. The
// only error is that of the source of randomness.
func NewSession(firm events.ID, random io.Reader) (text string, hash events.Digest, err error) {
	return newSecret(sessionPrefix, firm, random)
}

// ParseSession takes a session's text apart, as ParseToken does.
func ParseSession(text string) (firm events.ID, hash events.Digest, err error) {
	return parseSecret(sessionPrefix, text)
}
