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
	insertLaser = `
		INSERT INTO laser (firm, id, name, body, created_at)
		VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (firm, id) DO NOTHING`
	selectLaser = `
		SELECT firm, body, created_at
		FROM laser
		WHERE firm = $1 AND id = $2`
	selectLasers = `
		SELECT DISTINCT ON (name COLLATE "C") firm, body, created_at
		FROM laser
		WHERE firm = $1
		ORDER BY name COLLATE "C", created_at DESC, id DESC`
	selectJackRecords = `
		SELECT firm, body, created_at
		FROM jack
		WHERE firm = $1
		ORDER BY name COLLATE "C", created_at DESC, id DESC`
	selectLaserRecords = `
		SELECT firm, body, created_at
		FROM laser
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

func scanLaser(row pgx.Row) (l jobs.Laser, err error) {
	firm, created, err := scanBody(row, &l)
	l.Firm, l.CreatedAt = firm, created
	return l, err
}

func scanPractice(row pgx.Row) (p jobs.Practice, err error) {
	firm, created, err := scanBody(row, &p)
	p.Firm, p.CreatedAt = firm, created
	return p, err
}

// keep adds a row whose content is one JSON object. One that is there already has
// to say the same.
func keep[T any](ctx context.Context, s *Store, firm events.ID, v T, insert func(body []byte) statement, find statement,
	scan func(pgx.Row) (T, error), same func(a, b T) bool,
) error {
	body, err := json.Marshal(v)
	if err != nil {
		return err
	}
	var kept T
	err = s.create(ctx, firm, insert(body), find, func(row pgx.Row) (err error) { kept, err = scan(row); return err })
	if err == nil && !same(kept, v) {
		return events.ErrConflict
	}
	return err
}

// CreateJack implements jobs.Kit.
func (s *Store) CreateJack(ctx context.Context, j jobs.Jack) error {
	insert := func(body []byte) statement {
		return with(insertJack, uuid(j.Firm), uuid(j.ID), j.Name, body, j.CreatedAt)
	}
	if err := keep(ctx, s, j.Firm, j, insert, with(selectJack, uuid(j.Firm), uuid(j.ID)), scanJack, jobs.Jack.Same); err != nil {
		return fmt.Errorf("create jack: %w", err)
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

// CreateLaser implements jobs.Kit.
func (s *Store) CreateLaser(ctx context.Context, l jobs.Laser) error {
	insert := func(body []byte) statement {
		return with(insertLaser, uuid(l.Firm), uuid(l.ID), l.Name, body, l.CreatedAt)
	}
	if err := keep(ctx, s, l.Firm, l, insert, with(selectLaser, uuid(l.Firm), uuid(l.ID)), scanLaser, jobs.Laser.Same); err != nil {
		return fmt.Errorf("create laser: %w", err)
	}
	return nil
}

// ListLasers implements jobs.Kit.
func (s *Store) ListLasers(ctx context.Context, firm events.ID) ([]jobs.Laser, error) {
	lasers, err := list(ctx, s, firm, selectLasers, scanLaser)
	if err != nil {
		return nil, fmt.Errorf("list lasers: %w", err)
	}
	return lasers, nil
}

// CreatePractice implements jobs.Practices.
func (s *Store) CreatePractice(ctx context.Context, p jobs.Practice) error {
	insert := func(body []byte) statement {
		return with(insertPractice, uuid(p.Firm), uuid(p.ID), body, p.CreatedAt)
	}
	if err := keep(ctx, s, p.Firm, p, insert, with(selectPractice, uuid(p.Firm), uuid(p.ID)), scanPractice, jobs.Practice.Same); err != nil {
		return fmt.Errorf("create practice: %w", err)
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

// KitRecords implements jobs.Kit.
func (s *Store) KitRecords(ctx context.Context, firm events.ID) (k jobs.KitRecords, err error) {
	if k.Jacks, err = list(ctx, s, firm, selectJackRecords, scanJack); err == nil {
		k.Lasers, err = list(ctx, s, firm, selectLaserRecords, scanLaser)
	}
	if err != nil {
		return k, fmt.Errorf("list the records of the kit: %w", err)
	}
	return k, nil
}
