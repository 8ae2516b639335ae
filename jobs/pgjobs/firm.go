package pgjobs

import (
	"cmp"
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/jobs"
)

const (
	insertFirm = `
		INSERT INTO firm (firm, name, words_region, created_at, units, zone, phone, mail)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
		ON CONFLICT (firm) DO NOTHING`
	selectFirm = `
		SELECT firm, name, words_region, created_at, units, zone, phone, mail
		FROM firm
		WHERE firm = $1`
	updateFirm = `
		UPDATE firm
		SET name = $2, words_region = $3
		WHERE firm = $1
		RETURNING firm, name, words_region, created_at, units, zone, phone, mail`
	changeFirm = `
		UPDATE firm SET name = $2, words_region = $3, units = $4, zone = $5, phone = $6, mail = $7
		WHERE firm = $1
		RETURNING firm, name, words_region, created_at, units, zone, phone, mail`
)

func scanFirm(row pgx.Row) (f jobs.Firm, err error) {
	err = row.Scan(idInto(&f.ID), &f.Name, &f.Words, &f.CreatedAt, &f.Units, &f.Zone, &f.Phone, &f.Mail)
	f.CreatedAt = f.CreatedAt.UTC()
	return f, err
}

// CreateFirm implements jobs.Firms.
func (s *Store) CreateFirm(ctx context.Context, f jobs.Firm) error {
	var kept jobs.Firm
	err := s.create(ctx, f.ID,
		with(insertFirm, uuid(f.ID), f.Name, string(f.Words), f.CreatedAt, unitsOf(f), f.Zone, f.Phone, f.Mail),
		with(selectFirm, uuid(f.ID)),
		func(row pgx.Row) (err error) { kept, err = scanFirm(row); return err })
	if err != nil {
		return fmt.Errorf("create firm: %w", err)
	}
	if kept.Name != f.Name || kept.Words != f.Words {
		return fmt.Errorf("create firm: %w", events.ErrConflict)
	}
	return nil
}

// FindFirm implements jobs.Firms.
func (s *Store) FindFirm(ctx context.Context, id events.ID) (f jobs.Firm, err error) {
	err = s.find(ctx, id, with(selectFirm, uuid(id)),
		func(row pgx.Row) (err error) { f, err = scanFirm(row); return err })
	if err != nil {
		return jobs.Firm{}, fmt.Errorf("find firm: %w", err)
	}
	return f, nil
}

// NameFirm implements jobs.Firms.
func (s *Store) NameFirm(ctx context.Context, f jobs.Firm) error {
	err := s.change(ctx, f.ID, with(updateFirm, uuid(f.ID), f.Name, string(f.Words)),
		func(row pgx.Row) error { _, err := scanFirm(row); return err })
	if err != nil {
		return fmt.Errorf("name firm: %w", err)
	}
	return nil
}

// unitsOf are the units of a firm that may have said none.
func unitsOf(f jobs.Firm) string { return cmp.Or(string(f.Units), "mm") }

// UpdateFirm implements jobs.Firms.
func (s *Store) UpdateFirm(ctx context.Context, f jobs.Firm) error {
	err := s.change(ctx, f.ID, with(changeFirm, uuid(f.ID), f.Name, string(f.Words), unitsOf(f), f.Zone, f.Phone, f.Mail),
		func(row pgx.Row) error { _, err := scanFirm(row); return err })
	if err != nil {
		return fmt.Errorf("change firm: %w", err)
	}
	return nil
}
