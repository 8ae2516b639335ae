package pgjobs

import (
	"context"
	"encoding/json"
	"fmt"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/jobs"
)

const (
	insertProfile = `
		INSERT INTO tolerance_profile (firm, id, name, title, source, limits, created_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7)
		ON CONFLICT (firm, id) DO NOTHING`
	selectProfile = `
		SELECT firm, id, name, title, source, limits, created_at
		FROM tolerance_profile
		WHERE firm = $1 AND id = $2`
	selectProfiles = `
		SELECT DISTINCT ON (name COLLATE "C") firm, id, name, title, source, limits, created_at
		FROM tolerance_profile
		WHERE firm = $1
		ORDER BY name COLLATE "C", created_at DESC, id DESC`
)

func scanProfile(row pgx.Row) (p jobs.Profile, err error) {
	var limits []byte
	if err := row.Scan(idInto(&p.Firm), idInto(&p.ID), &p.Name, &p.Title, &p.Source, &limits, &p.CreatedAt); err != nil {
		return jobs.Profile{}, err
	}
	p.CreatedAt = p.CreatedAt.UTC()
	if err := json.Unmarshal(limits, &p.Limits); err != nil {
		return jobs.Profile{}, fmt.Errorf("read the limits of %s: %w", p.ID, err)
	}
	return p, nil
}

// CreateProfile implements jobs.Profiles.
func (s *Store) CreateProfile(ctx context.Context, p jobs.Profile) error {
	limits, err := json.Marshal(p.Limits)
	if err != nil {
		return fmt.Errorf("create profile: %w", err)
	}
	var kept jobs.Profile
	err = s.create(ctx, p.Firm,
		with(insertProfile, uuid(p.Firm), uuid(p.ID), p.Name, p.Title, p.Source, limits, p.CreatedAt),
		with(selectProfile, uuid(p.Firm), uuid(p.ID)),
		func(row pgx.Row) (err error) { kept, err = scanProfile(row); return err })
	if err != nil {
		return fmt.Errorf("create profile: %w", err)
	}
	if !kept.Same(p) {
		return fmt.Errorf("create profile: %w", events.ErrConflict)
	}
	return nil
}

// ListProfiles implements jobs.Profiles.
func (s *Store) ListProfiles(ctx context.Context, firm events.ID) ([]jobs.Profile, error) {
	profiles, err := list(ctx, s, firm, selectProfiles, scanProfile)
	if err != nil {
		return nil, fmt.Errorf("list profiles: %w", err)
	}
	return profiles, nil
}
