package jobs

import (
	"context"
	"time"

	"relevel/events"
)

// Passkeys open accounts without a password: WebAuthn credentials. What is kept of
// each is public.
type Passkeys interface {
	// CreatePasskey keeps one of a person who has an account.
	CreatePasskey(ctx context.Context, k Passkey) error
	// ListPasskeys returns a person's, the newest first.
	ListPasskeys(ctx context.Context, firm, person events.ID) ([]Passkey, error)
	// UsePasskey replaces what is known of one after it was used: its counter moves.
	UsePasskey(ctx context.Context, k Passkey) error
	DeletePasskey(ctx context.Context, firm, person, id events.ID) error
	// KeepChallenge keeps what a browser was asked, and forgets what is past its time.
	// It is of no firm: whose passkey will answer is not known yet.
	KeepChallenge(ctx context.Context, c Challenge, now time.Time) error
	// TakeChallenge returns what was asked under that hash and forgets it: each is
	// answered once. One past its time is events.ErrNotFound.
	TakeChallenge(ctx context.Context, hash events.Digest, now time.Time) (Challenge, error)
}

// Passkey is one credential of a person.
type Passkey struct {
	Firm       events.ID
	Person     events.ID
	ID         events.ID
	Name       string // as its owner calls it
	Credential []byte // the credential record, JSON
	CreatedAt  time.Time
	UsedAt     time.Time // zero before it was used
}

// Challenge is what a browser was asked to have signed.
type Challenge struct {
	Hash      events.Digest // SHA-256 of the challenge
	Body      []byte        // JSON; no name of anybody
	ExpiresAt time.Time
}

// ChallengeLasts is how long somebody may take to touch the key.
const ChallengeLasts = 5 * time.Minute

// CheckPasskeyName reports, as an InputError, what is wrong with the name of a passkey.
func CheckPasskeyName(name string) error { return checkName("passkey", name) }

// CheckTokenName reports, as an InputError, what is wrong with the name of a token.
func CheckTokenName(name string) error { return checkName("name", name) }
