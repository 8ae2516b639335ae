package pgjobs

import (
	"context"
	"fmt"

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
		SELECT firm, id, name, role, created_at
		FROM person
		WHERE firm = $1 AND id = $2`
	selectPeople = `
		SELECT firm, id, name, role, created_at
		FROM person
		WHERE firm = $1
		ORDER BY name COLLATE "C", id`
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
	err = row.Scan(idInto(&p.Firm), idInto(&p.ID), &p.Name, &p.Role, &p.CreatedAt)
	p.CreatedAt = p.CreatedAt.UTC()
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
