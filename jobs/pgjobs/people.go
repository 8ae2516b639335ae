package pgjobs

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/jobs"
)

// Names are ordered by code point, so that the order does not depend on what
// languages a machine has installed.
const (
	insertPerson = `
		INSERT INTO person (firm, id, name, role, created_at)
		VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (firm, id) DO NOTHING`
	selectPerson = `
		SELECT firm, id, name, role, created_at, left_at
		FROM person
		WHERE firm = $1 AND id = $2`
	selectPeople = `
		SELECT firm, id, name, role, created_at, left_at
		FROM person
		WHERE firm = $1
		ORDER BY name COLLATE "C", id`
	updateRole = `
		UPDATE person
		SET role = $3
		WHERE firm = $1 AND id = $2
		RETURNING firm, id, name, role, created_at, left_at`
	// The person first: what a sign-in holds waits for this row (see lockPerson).
	updateLeft = `
		UPDATE person
		SET left_at = coalesce(left_at, $3)
		WHERE firm = $1 AND id = $2
		RETURNING firm, id, name, role, created_at, left_at`
	updateReturned = `
		UPDATE person
		SET left_at = NULL
		WHERE firm = $1 AND id = $2
		RETURNING firm, id, name, role, created_at, left_at`
	deletePasskeys = `
		DELETE FROM passkey
		WHERE firm = $1 AND person = $2`
	deleteSignIn = `
		DELETE FROM sign_in
		WHERE firm = $1 AND name_hash IN (SELECT name_hash FROM account WHERE firm = $1 AND person = $2)`
	deleteAccount = `
		DELETE FROM account
		WHERE firm = $1 AND person = $2`
	closeInvitations = `
		UPDATE invitation
		SET closed_at = $3
		WHERE firm = $1 AND person = $2 AND closed_at IS NULL`
	revokeTokensOf = `
		UPDATE api_token
		SET revoked_at = $3
		WHERE firm = $1 AND person = $2 AND revoked_at IS NULL`
	insertCrew = `
		INSERT INTO crew (firm, id, name)
		VALUES ($1, $2, $3)
		ON CONFLICT (firm, id) DO NOTHING`
	selectCrew = `
		SELECT firm, id, name
		FROM crew
		WHERE firm = $1 AND id = $2`
	selectCrews = `
		SELECT firm, id, name
		FROM crew
		WHERE firm = $1
		ORDER BY name COLLATE "C", id`
)

func scanPerson(row pgx.Row) (p jobs.Person, err error) {
	var left *time.Time
	err = row.Scan(idInto(&p.Firm), idInto(&p.ID), &p.Name, &p.Role, &p.CreatedAt, &left)
	p.CreatedAt, p.LeftAt = p.CreatedAt.UTC(), orNever(left)
	return p, err
}

func scanCrew(row pgx.Row) (c jobs.Crew, err error) {
	err = row.Scan(idInto(&c.Firm), idInto(&c.ID), &c.Name)
	return c, err
}

// CreatePerson implements jobs.People.
func (s *Store) CreatePerson(ctx context.Context, p jobs.Person) error {
	var kept jobs.Person
	err := s.create(ctx, p.Firm,
		with(insertPerson, uuid(p.Firm), uuid(p.ID), p.Name, string(p.Role), p.CreatedAt),
		with(selectPerson, uuid(p.Firm), uuid(p.ID)),
		func(row pgx.Row) (err error) { kept, err = scanPerson(row); return err })
	if err != nil {
		return fmt.Errorf("create person: %w", err)
	}
	if kept.Name != p.Name || kept.Role != p.Role {
		return fmt.Errorf("create person: %w", events.ErrConflict)
	}
	return nil
}

// FindPerson implements jobs.People.
func (s *Store) FindPerson(ctx context.Context, firm, id events.ID) (p jobs.Person, err error) {
	err = s.find(ctx, firm, with(selectPerson, uuid(firm), uuid(id)),
		func(row pgx.Row) (err error) { p, err = scanPerson(row); return err })
	if err != nil {
		return jobs.Person{}, fmt.Errorf("find person: %w", err)
	}
	return p, nil
}

// ChangeRole implements jobs.People.
func (s *Store) ChangeRole(ctx context.Context, firm, id events.ID, role jobs.Role, at time.Time) error {
	if firm.IsZero() {
		return fmt.Errorf("change role: %w", events.ErrNotFound)
	}
	err := s.db.Write(ctx, firm, func(b *pgx.Batch) {
		b.Queue(updateRole, uuid(firm), uuid(id), string(role)).QueryRow(func(row pgx.Row) error { _, err := scanPerson(row); return err })
		if role != jobs.Office {
			b.Queue(revokeTokensOf, uuid(firm), uuid(id), at)
		}
	})
	if err != nil {
		return fmt.Errorf("change role: %w", orNotFound(err))
	}
	return nil
}

// ReturnToFirm implements jobs.People.
func (s *Store) ReturnToFirm(ctx context.Context, firm, id events.ID) error {
	err := s.change(ctx, firm, with(updateReturned, uuid(firm), uuid(id)), func(row pgx.Row) error { _, err := scanPerson(row); return err })
	if err != nil {
		return fmt.Errorf("return to a firm: %w", err)
	}
	return nil
}

// LeaveFirm implements jobs.People.
func (s *Store) LeaveFirm(ctx context.Context, firm, id events.ID, at time.Time) error {
	if firm.IsZero() {
		return fmt.Errorf("leave a firm: %w", events.ErrNotFound)
	}
	err := s.db.Write(ctx, firm, func(b *pgx.Batch) {
		b.Queue(updateLeft, uuid(firm), uuid(id), at).QueryRow(func(row pgx.Row) error { _, err := scanPerson(row); return err })
		b.Queue(endSessions, uuid(firm), uuid(id), nil, at)
		b.Queue(revokeTokensOf, uuid(firm), uuid(id), at)
		b.Queue(closeInvitations, uuid(firm), uuid(id), at)
		b.Queue(deletePasskeys, uuid(firm), uuid(id))
		b.Queue(deleteSignIn, uuid(firm), uuid(id))
		b.Queue(deleteAccount, uuid(firm), uuid(id))
	})
	if err != nil {
		return fmt.Errorf("leave a firm: %w", orNotFound(err))
	}
	return nil
}

// ListPeople implements jobs.People.
func (s *Store) ListPeople(ctx context.Context, firm events.ID) ([]jobs.Person, error) {
	people, err := list(ctx, s, firm, selectPeople, scanPerson)
	if err != nil {
		return nil, fmt.Errorf("list people: %w", err)
	}
	return people, nil
}

// CreateCrew implements jobs.People.
func (s *Store) CreateCrew(ctx context.Context, c jobs.Crew) error {
	var kept jobs.Crew
	err := s.create(ctx, c.Firm,
		with(insertCrew, uuid(c.Firm), uuid(c.ID), c.Name),
		with(selectCrew, uuid(c.Firm), uuid(c.ID)),
		func(row pgx.Row) (err error) { kept, err = scanCrew(row); return err })
	if err != nil {
		return fmt.Errorf("create crew: %w", err)
	}
	if kept != c {
		return fmt.Errorf("create crew: %w", events.ErrConflict)
	}
	return nil
}

// ListCrews implements jobs.People.
func (s *Store) ListCrews(ctx context.Context, firm events.ID) ([]jobs.Crew, error) {
	crews, err := list(ctx, s, firm, selectCrews, scanCrew)
	if err != nil {
		return nil, fmt.Errorf("list crews: %w", err)
	}
	return crews, nil
}
