package pgjobs

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/jobs"
)

const (
	insertCalendar = `
		INSERT INTO calendar (firm, id, crew, secret_hash, name, created_at)
		VALUES ($1, $2, $3, $4, $5, $6)
		ON CONFLICT (firm, id) DO NOTHING`
	selectCalendar = `
		SELECT firm, id, crew, secret_hash, name, created_at, revoked_at
		FROM calendar
		WHERE firm = $1 AND id = $2`
	selectCalendarByHash = `
		SELECT firm, id, crew, secret_hash, name, created_at, revoked_at
		FROM calendar
		WHERE firm = $1 AND secret_hash = $2 AND revoked_at IS NULL`
	revokeCalendar = `
		UPDATE calendar
		SET revoked_at = coalesce(revoked_at, $3)
		WHERE firm = $1 AND id = $2
		RETURNING firm, id, crew, secret_hash, name, created_at, revoked_at`
	selectCalendars = `
		SELECT firm, id, crew, secret_hash, name, created_at, revoked_at
		FROM calendar
		WHERE firm = $1
		ORDER BY created_at DESC, id DESC`
)

func scanCalendar(row pgx.Row) (c jobs.Calendar, err error) {
	var hash []byte
	var revoked *time.Time
	err = row.Scan(idInto(&c.Firm), idInto(&c.ID), idInto(&c.Crew), &hash, &c.Name, &c.CreatedAt, &revoked)
	copy(c.Hash[:], hash)
	c.CreatedAt = c.CreatedAt.UTC()
	if revoked != nil {
		c.RevokedAt = revoked.UTC()
	}
	return c, err
}

// CreateCalendar implements jobs.Calendars.
func (s *Store) CreateCalendar(ctx context.Context, c jobs.Calendar) error {
	var kept jobs.Calendar
	err := s.create(ctx, c.Firm,
		with(insertCalendar, uuid(c.Firm), uuid(c.ID), uuid(c.Crew), c.Hash[:], c.Name, c.CreatedAt),
		with(selectCalendar, uuid(c.Firm), uuid(c.ID)),
		func(row pgx.Row) (err error) { kept, err = scanCalendar(row); return err })
	if err != nil {
		return fmt.Errorf("create calendar: %w", err)
	}
	if kept.Hash != c.Hash || kept.Name != c.Name || kept.Crew != c.Crew {
		return fmt.Errorf("create calendar: %w", events.ErrConflict)
	}
	return nil
}

// FindCalendar implements jobs.Calendars.
func (s *Store) FindCalendar(ctx context.Context, firm events.ID, hash events.Digest) (c jobs.Calendar, err error) {
	err = s.find(ctx, firm, with(selectCalendarByHash, uuid(firm), hash[:]),
		func(row pgx.Row) (err error) { c, err = scanCalendar(row); return err })
	if err != nil {
		return jobs.Calendar{}, fmt.Errorf("find calendar: %w", err)
	}
	return c, nil
}

// RevokeCalendar implements jobs.Calendars.
func (s *Store) RevokeCalendar(ctx context.Context, firm, id events.ID, at time.Time) error {
	err := s.change(ctx, firm, with(revokeCalendar, uuid(firm), uuid(id), at),
		func(row pgx.Row) error { _, err := scanCalendar(row); return err })
	if err != nil {
		return fmt.Errorf("revoke calendar: %w", err)
	}
	return nil
}

// ListCalendars implements jobs.Calendars.
func (s *Store) ListCalendars(ctx context.Context, firm events.ID) ([]jobs.Calendar, error) {
	all, err := list(ctx, s, firm, selectCalendars, scanCalendar)
	if err != nil {
		return nil, fmt.Errorf("list calendars: %w", err)
	}
	return all, nil
}
