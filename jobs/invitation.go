package jobs

import (
	"context"
	"io"
	"strings"
	"time"

	"relevel/events"
)

// Invitations are one-time links by which people come to an account: the first of a
// firm, one who was added, one who forgot a password. Only hashes are kept.
type Invitations interface {
	// CreateInvitation keeps one, and ends those of the same person that are open: the
	// newest link counts. Its firm and its person, who must not have left, have to be
	// there, or it is events.ErrNotFound.
	CreateInvitation(ctx context.Context, i Invitation) error
	// FindInvitation returns one that is open at that time; else events.ErrNotFound.
	FindInvitation(ctx context.Context, firm events.ID, hash events.Digest, at time.Time) (Invitation, error)
	// TakeInvitation closes an open one and does what it is for, all or nothing and
	// once, whoever comes at the same time. Of a first one it names the firm and makes
	// the person. It saves the account as SaveAccount does.
	TakeInvitation(ctx context.Context, hash events.Digest, at time.Time, a Arrival) error
	RevokeInvitation(ctx context.Context, firm, id events.ID, at time.Time) error
	// ListInvitations returns those that are open, the newest first.
	ListInvitations(ctx context.Context, firm events.ID, at time.Time) ([]Invitation, error)
}

// Purpose is what an invitation is for.
type Purpose string

// The purposes.
const (
	First   Purpose = "first"   // the first person of a firm, who names it
	Invited Purpose = "invited" // somebody who is to have an account
	Reset   Purpose = "reset"   // somebody who has one and lost what opens it
)

// How long links open. A reset is asked for by who waits for it.
const (
	InvitationLasts = 7 * 24 * time.Hour
	ResetLasts      = 2 * time.Hour
)

// Lasts is how long a link of this purpose opens.
func (p Purpose) Lasts() time.Duration {
	if p == Reset {
		return ResetLasts
	}
	return InvitationLasts
}

// Invitation is one such link.
type Invitation struct {
	Firm      events.ID
	ID        events.ID
	Hash      events.Digest // SHA-256 of the secret part
	Purpose   Purpose
	Person    events.ID // zero for the first
	MadeBy    events.ID // zero where no person made it
	CreatedAt time.Time
	ExpiresAt time.Time
}

// Arrival is what comes of an invitation.
type Arrival struct {
	Firm    Firm   // with its name and words; of one that is not the first only the id counts
	Person  Person // made anew where the invitation is the first
	Account Account
}

// NewInvitation makes the part of a link behind the #, <firm>_<secret>, and the hash
// that is kept of it. The only error is that of the source of randomness.
func NewInvitation(firm events.ID, random io.Reader) (text string, hash events.Digest, err error) {
	text, hash, err = newSecret("", firm, random)
	return strings.TrimPrefix(text, "_"), hash, err
}

// ParseInvitation takes what stands behind the # apart, as ParseToken does. Where
// somebody copied the whole link, what is in front of the # is left out.
func ParseInvitation(text string) (firm events.ID, hash events.Digest, err error) {
	text = strings.TrimSpace(text)
	return parseSecret("", "_"+text[strings.LastIndex(text, "#")+1:])
}
