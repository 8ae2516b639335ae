package pgjobs

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/jobs"
)

const (
	insertJack = `
		INSERT INTO jack (firm, id, name, body, created_at)
		VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (firm, id) DO NOTHING`
	selectJack = `
		SELECT firm, body, created_at
		FROM jack
		WHERE firm = $1 AND id = $2`
	selectJacks = `
		SELECT DISTINCT ON (name COLLATE "C") firm, body, created_at
		FROM jack
		WHERE firm = $1
		ORDER BY name COLLATE "C", created_at DESC, id DESC`
	insertPractice = `
		INSERT INTO practice (firm, id, body, created_at)
		VALUES ($1, $2, $3, $4)
		ON CONFLICT (firm, id) DO NOTHING`
	selectPractice = `
		SELECT firm, body, created_at
		FROM practice
		WHERE firm = $1 AND id = $2`
	selectPracticeInUse = `
		SELECT firm, body, created_at
		FROM practice
		WHERE firm = $1
		ORDER BY created_at DESC, id DESC
		LIMIT 1`
)

// scanBody reads a row whose content is one JSON object.
func scanBody(row pgx.Row, into any) (firm events.ID, created time.Time, err error) {
	var body []byte
	if err := row.Scan(idInto(&firm), &body, &created); err != nil {
		return firm, created, err
	}
	if err := json.Unmarshal(body, into); err != nil {
		return firm, created, fmt.Errorf("read a row: %w", err)
	}
	return firm, created.UTC(), nil
}

func scanJack(row pgx.Row) (j jobs.Jack, err error) {
	firm, created, err := scanBody(row, &j)
	j.Firm, j.CreatedAt = firm, created
	return j, err
}

func scanPractice(row pgx.Row) (p jobs.Practice, err error) {
	firm, created, err := scanBody(row, &p)
	p.Firm, p.CreatedAt = firm, created
	return p, err
}

// CreateJack implements jobs.Kit.
func (s *Store) CreateJack(ctx context.Context, j jobs.Jack) error {
	body, err := json.Marshal(j)
	if err != nil {
		return fmt.Errorf("create jack: %w", err)
	}
	var kept jobs.Jack
	err = s.create(ctx, j.Firm, with(insertJack, uuid(j.Firm), uuid(j.ID), j.Name, body, j.CreatedAt), with(selectJack, uuid(j.Firm), uuid(j.ID)),
		func(row pgx.Row) (err error) { kept, err = scanJack(row); return err })
	if err != nil {
		return fmt.Errorf("create jack: %w", err)
	}
	if !kept.Same(j) {
		return fmt.Errorf("create jack: %w", events.ErrConflict)
	}
	return nil
}

// ListJacks implements jobs.Kit.
func (s *Store) ListJacks(ctx context.Context, firm events.ID) ([]jobs.Jack, error) {
	jacks, err := list(ctx, s, firm, selectJacks, scanJack)
	if err != nil {
		return nil, fmt.Errorf("list jacks: %w", err)
	}
	return jacks, nil
}

// CreatePractice implements jobs.Practices.
func (s *Store) CreatePractice(ctx context.Context, p jobs.Practice) error {
	body, err := json.Marshal(p)
	if err != nil {
		return fmt.Errorf("create practice: %w", err)
	}
	var kept jobs.Practice
	err = s.create(ctx, p.Firm, with(insertPractice, uuid(p.Firm), uuid(p.ID), body, p.CreatedAt), with(selectPractice, uuid(p.Firm), uuid(p.ID)),
		func(row pgx.Row) (err error) { kept, err = scanPractice(row); return err })
	if err != nil {
		return fmt.Errorf("create practice: %w", err)
	}
	if !kept.Same(p) {
		return fmt.Errorf("create practice: %w", events.ErrConflict)
	}
	return nil
}

// FindPractice implements jobs.Practices.
func (s *Store) FindPractice(ctx context.Context, firm events.ID) (jobs.Practice, error) {
	p := jobs.Practice{}
	err := s.find(ctx, firm, with(selectPracticeInUse, uuid(firm)), func(row pgx.Row) (err error) { p, err = scanPractice(row); return err })
	if errors.Is(err, events.ErrNotFound) {
		return jobs.Practice{Firm: firm}, nil
	}
	if err != nil {
		return p, fmt.Errorf("find practice: %w", err)
	}
	return p, nil
}
