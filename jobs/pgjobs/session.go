package pgjobs

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/jobs"
)

const (
	// A person who leaves at the same time is waited for, or waits and ends this one, and
	// so is a change of their account. The account is looked at in the state that it has
	// once it is locked.
	insertSession = `
		WITH who AS (SELECT id FROM person WHERE firm = $1 AND id = $4 AND left_at IS NULL FOR SHARE),
		opened AS (
			SELECT a.person
			FROM account a
			JOIN who ON who.id = a.person
			WHERE a.firm = $1 AND a.password = $11::text
			FOR SHARE OF a)
		INSERT INTO session (firm, id, secret_hash, person, token, browser_hash, agent, created_at, seen_at, expires_at)
		SELECT $1, $2, $3, $4, $5, $6, $7, $8, $9, $10
		WHERE $4::uuid IS NULL OR ($11::text = '' AND EXISTS (SELECT FROM who)) OR EXISTS (SELECT FROM opened)
		RETURNING id`
	selectSitting = `
		SELECT s.firm, s.id, s.secret_hash, s.person, s.token, s.browser_hash, s.agent, s.created_at, s.seen_at, s.expires_at,
			coalesce(p.name, ''), coalesce(p.role, ''), p.created_at, coalesce(t.name, ''), coalesce(t.scope, ''), t.created_at
		FROM session s
		LEFT JOIN person p ON p.firm = s.firm AND p.id = s.person
		LEFT JOIN api_token t ON t.firm = s.firm AND t.id = s.token
		WHERE s.firm = $1 AND s.secret_hash = $2 AND s.ended_at IS NULL AND s.expires_at > $3
			AND p.left_at IS NULL AND t.revoked_at IS NULL`
	updateSeen = `
		UPDATE session
		SET seen_at = greatest(seen_at, $3)
		WHERE firm = $1 AND id = $2`
	endSession = `
		UPDATE session
		SET ended_at = coalesce(ended_at, $4)
		WHERE firm = $1 AND id = $2 AND person IS NOT DISTINCT FROM $3::uuid
		RETURNING id`
	endSessions = `
		UPDATE session
		SET ended_at = $4
		WHERE firm = $1 AND person = $2 AND id IS DISTINCT FROM $3::uuid AND ended_at IS NULL`
	selectSessions = `
		SELECT firm, id, secret_hash, person, token, browser_hash, agent, created_at, seen_at, expires_at
		FROM session
		WHERE firm = $1 AND person = $2 AND ended_at IS NULL AND expires_at > $3
		ORDER BY created_at DESC, id DESC`
	selectBrowser = `
		SELECT EXISTS (SELECT FROM session WHERE firm = $1 AND person = $2 AND browser_hash = $3)`
)

// sessionRow is a session as the driver reads it.
type sessionRow struct {
	jobs.Session
	hash, browser []byte
	person, token *[16]byte
}

func (r *sessionRow) columns() []any {
	return []any{idInto(&r.Firm), idInto(&r.ID), &r.hash, &r.person, &r.token, &r.browser, &r.Agent, &r.CreatedAt, &r.SeenAt, &r.ExpiresAt}
}

func (r *sessionRow) session() jobs.Session {
	s := r.Session
	copy(s.Hash[:], r.hash)
	copy(s.Browser[:], r.browser)
	s.Person, s.Token = orZero(r.person), orZero(r.token)
	s.CreatedAt, s.SeenAt, s.ExpiresAt = s.CreatedAt.UTC(), s.SeenAt.UTC(), s.ExpiresAt.UTC()
	return s
}

func scanSession(row pgx.Row) (jobs.Session, error) {
	var r sessionRow
	err := row.Scan(r.columns()...)
	return r.session(), err
}

func scanSitting(row pgx.Row) (jobs.Sitting, error) {
	var r sessionRow
	var p jobs.Person
	var t jobs.Token
	var personSince, tokenSince *time.Time
	err := row.Scan(append(r.columns(), &p.Name, &p.Role, &personSince, &t.Name, &t.Scope, &tokenSince)...)
	sitting := jobs.Sitting{Session: r.session()}
	if personSince != nil {
		p.Firm, p.ID, p.CreatedAt = sitting.Session.Firm, sitting.Session.Person, personSince.UTC()
		sitting.Person = p
	}
	if tokenSince != nil {
		t.Firm, t.ID, t.CreatedAt = sitting.Session.Firm, sitting.Session.Token, tokenSince.UTC()
		sitting.Token = t
	}
	return sitting, err
}

// CreateSession implements jobs.Sessions.
func (s *Store) CreateSession(ctx context.Context, one jobs.Session, password string) error {
	var id events.ID
	err := s.change(ctx, one.Firm, with(insertSession, uuid(one.Firm), uuid(one.ID), one.Hash[:], orNull(one.Person), orNull(one.Token),
		one.Browser[:], one.Agent, one.CreatedAt, one.SeenAt, one.ExpiresAt, password),
		func(row pgx.Row) error { return row.Scan(idInto(&id)) })
	if err != nil {
		return fmt.Errorf("create session: %w", missing(err))
	}
	return nil
}

// FindSession implements jobs.Sessions.
func (s *Store) FindSession(ctx context.Context, firm events.ID, hash events.Digest, at time.Time) (sitting jobs.Sitting, err error) {
	err = s.find(ctx, firm, with(selectSitting, uuid(firm), hash[:], at),
		func(row pgx.Row) (err error) { sitting, err = scanSitting(row); return err })
	if err != nil {
		return jobs.Sitting{}, fmt.Errorf("find session: %w", err)
	}
	return sitting, nil
}

// SeeSession implements jobs.Sessions.
func (s *Store) SeeSession(ctx context.Context, firm, id events.ID, at time.Time) error {
	if err := s.writeDerived(ctx, firm, with(updateSeen, uuid(firm), uuid(id), at)); err != nil {
		return fmt.Errorf("see session: %w", err)
	}
	return nil
}

// EndSession implements jobs.Sessions.
func (s *Store) EndSession(ctx context.Context, firm, person, id events.ID, at time.Time) error {
	err := s.change(ctx, firm, with(endSession, uuid(firm), uuid(id), orNull(person), at),
		func(row pgx.Row) error { return row.Scan(idInto(&id)) })
	if err != nil {
		return fmt.Errorf("end session: %w", err)
	}
	return nil
}

// EndSessions implements jobs.Sessions.
func (s *Store) EndSessions(ctx context.Context, firm, person, except events.ID, at time.Time) error {
	if firm.IsZero() {
		return nil
	}
	err := s.db.Write(ctx, firm, func(b *pgx.Batch) { b.Queue(endSessions, uuid(firm), uuid(person), orNull(except), at) })
	if err != nil {
		return fmt.Errorf("end sessions: %w", err)
	}
	return nil
}

// ListSessions implements jobs.Sessions.
func (s *Store) ListSessions(ctx context.Context, firm, person events.ID, at time.Time) ([]jobs.Session, error) {
	sessions, err := listOf(ctx, s, firm, with(selectSessions, uuid(firm), uuid(person), at), scanSession)
	if err != nil {
		return nil, fmt.Errorf("list sessions: %w", err)
	}
	return sessions, nil
}

// KnowsBrowser implements jobs.Sessions.
func (s *Store) KnowsBrowser(ctx context.Context, firm, person events.ID, browser events.Digest) (known bool, err error) {
	err = s.find(ctx, firm, with(selectBrowser, uuid(firm), uuid(person), browser[:]), func(row pgx.Row) error { return row.Scan(&known) })
	if errors.Is(err, events.ErrNotFound) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("know a browser: %w", err)
	}
	return known, nil
}
