package jobs

import (
	"context"
	"time"

	"relevel/events"
)

// Calendars are the links by which somebody's calendar follows a crew. Only hashes
// are kept.
type Calendars interface {
	CreateCalendar(ctx context.Context, c Calendar) error
	// FindCalendar returns the one of a firm with that hash, unless revoked.
	FindCalendar(ctx context.Context, firm events.ID, hash events.Digest) (Calendar, error)
	RevokeCalendar(ctx context.Context, firm, id events.ID, at time.Time) error
	// ListCalendars returns all of a firm, the newest first, those revoked too.
	ListCalendars(ctx context.Context, firm events.ID) ([]Calendar, error)
}

// Calendar is one link to a crew's calendar.
type Calendar struct {
	Firm      events.ID
	ID        events.ID
	Crew      events.ID
	Hash      events.Digest // SHA-256 of the secret part
	Name      string        // who it was made for
	CreatedAt time.Time
	RevokedAt time.Time // zero while it opens
}

// Check reports, as an InputError, the first field that makes no sense.
func (c Calendar) Check() error { return checkName("name", c.Name) }
