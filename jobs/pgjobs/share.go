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
	insertShare = `
		INSERT INTO share (firm, id, job, secret_hash, name, up_to, made_by, created_at, expires_at)
		VALUES ($1, $2, $3, $4, $5, nullif($6::bigint, 0), $7, $8, $9)
		ON CONFLICT (firm, id) DO NOTHING`
	selectShare = `
		SELECT firm, id, job, secret_hash, name, coalesce(up_to, 0), made_by, created_at, expires_at, revoked_at, opened, opened_at
		FROM share
		WHERE firm = $1 AND id = $2`
	// The secret is looked for together with the id, so that a wrong one and a share that
	// is not there are one and the same.
	openShare = `
		UPDATE share
		SET opened = opened + CASE WHEN revoked_at IS NULL AND expires_at > $4 THEN 1 ELSE 0 END,
			opened_at = CASE WHEN revoked_at IS NULL AND expires_at > $4 THEN greatest(opened_at, $4) ELSE opened_at END
		WHERE firm = $1 AND id = $2 AND secret_hash = $3
		RETURNING firm, id, job, secret_hash, name, coalesce(up_to, 0), made_by, created_at, expires_at, revoked_at, opened, opened_at`
	deleteVisits = `
		DELETE FROM share_visit
		WHERE firm = $1 AND share = $2 AND expires_at <= $3`
	insertVisit = `
		INSERT INTO share_visit (firm, share, visit_hash, began_at, expires_at)
		SELECT $1, id, $4, $5, $6
		FROM share
		WHERE firm = $1 AND id = $2 AND secret_hash = $3 AND revoked_at IS NULL AND expires_at > $5`
	selectVisit = `
		SELECT s.firm, s.id, s.job, s.secret_hash, s.name, coalesce(s.up_to, 0), s.made_by, s.created_at, s.expires_at, s.revoked_at, s.opened, s.opened_at
		FROM share_visit v
		JOIN share s ON s.firm = v.firm AND s.id = v.share
		WHERE v.firm = $1 AND v.share = $2 AND v.visit_hash = $3 AND v.expires_at > $4`
	deleteVisit = `
		DELETE FROM share_visit
		WHERE firm = $1 AND share = $2 AND visit_hash = $3`
	revokeShare = `
		UPDATE share
		SET revoked_at = coalesce(revoked_at, $4)
		WHERE firm = $1 AND job = $2 AND id = $3
		RETURNING id`
	selectShares = `
		SELECT firm, id, job, secret_hash, name, coalesce(up_to, 0), made_by, created_at, expires_at, revoked_at, opened, opened_at
		FROM share
		WHERE firm = $1 AND ($2::uuid IS NULL OR job = $2)
		ORDER BY created_at DESC, id DESC`
)

func scanShare(row pgx.Row) (s jobs.Share, err error) {
	var hash []byte
	var madeBy *[16]byte
	var revoked, opened *time.Time
	err = row.Scan(idInto(&s.Firm), idInto(&s.ID), idInto(&s.Job), &hash, &s.Name, &s.UpTo, &madeBy, &s.CreatedAt, &s.ExpiresAt, &revoked, &s.Opened, &opened)
	copy(s.Hash[:], hash)
	s.MadeBy, s.CreatedAt, s.ExpiresAt = orZero(madeBy), s.CreatedAt.UTC(), s.ExpiresAt.UTC()
	s.RevokedAt, s.OpenedAt = orNever(revoked), orNever(opened)
	return s, err
}

// CreateShare implements jobs.Shares.
func (s *Store) CreateShare(ctx context.Context, one jobs.Share) error {
	var kept jobs.Share
	err := s.create(ctx, one.Firm,
		with(insertShare, uuid(one.Firm), uuid(one.ID), uuid(one.Job), one.Hash[:], one.Name, one.UpTo, orNull(one.MadeBy), one.CreatedAt, one.ExpiresAt),
		with(selectShare, uuid(one.Firm), uuid(one.ID)),
		func(row pgx.Row) (err error) { kept, err = scanShare(row); return err })
	if err != nil {
		return fmt.Errorf("create share: %w", err)
	}
	if kept.Hash != one.Hash || kept.Job != one.Job || kept.Name != one.Name || kept.UpTo != one.UpTo || !kept.ExpiresAt.Equal(one.ExpiresAt) {
		return fmt.Errorf("create share: %w", events.ErrConflict)
	}
	return nil
}

// OpenShare implements jobs.Shares.
func (s *Store) OpenShare(ctx context.Context, firm, id events.ID, secret events.Digest, v jobs.ShareVisit) (one jobs.Share, err error) {
	if firm.IsZero() {
		return one, fmt.Errorf("open share: %w", events.ErrNotFound)
	}
	err = s.db.Write(ctx, firm, func(b *pgx.Batch) {
		b.Queue(openShare, uuid(firm), uuid(id), secret[:], v.Began).QueryRow(func(row pgx.Row) (err error) { one, err = scanShare(row); return err })
		b.Queue(deleteVisits, uuid(firm), uuid(id), v.Began)
		b.Queue(insertVisit, uuid(firm), uuid(id), secret[:], v.Hash[:], v.Began, v.ExpiresAt)
	})
	if err != nil {
		return jobs.Share{}, fmt.Errorf("open share: %w", orNotFound(err))
	}
	return one, nil
}

// FindVisit implements jobs.Shares.
func (s *Store) FindVisit(ctx context.Context, firm, share events.ID, visit events.Digest, at time.Time) (one jobs.Share, err error) {
	err = s.find(ctx, firm, with(selectVisit, uuid(firm), uuid(share), visit[:], at),
		func(row pgx.Row) (err error) { one, err = scanShare(row); return err })
	if err != nil {
		return jobs.Share{}, fmt.Errorf("find visit: %w", err)
	}
	return one, nil
}

// EndVisit implements jobs.Shares.
func (s *Store) EndVisit(ctx context.Context, firm, share events.ID, visit events.Digest) error {
	if firm.IsZero() {
		return nil
	}
	err := s.db.Write(ctx, firm, func(b *pgx.Batch) { b.Queue(deleteVisit, uuid(firm), uuid(share), visit[:]) })
	if err != nil {
		return fmt.Errorf("end visit: %w", err)
	}
	return nil
}

// RevokeShare implements jobs.Shares.
func (s *Store) RevokeShare(ctx context.Context, firm, job, id events.ID, at time.Time) error {
	err := s.change(ctx, firm, with(revokeShare, uuid(firm), uuid(job), uuid(id), at), func(row pgx.Row) error { return row.Scan(idInto(&id)) })
	if err != nil {
		return fmt.Errorf("revoke share: %w", err)
	}
	return nil
}

// ListShares implements jobs.Shares.
func (s *Store) ListShares(ctx context.Context, firm, job events.ID) ([]jobs.Share, error) {
	all, err := listOf(ctx, s, firm, with(selectShares, uuid(firm), orNull(job)), scanShare)
	if err != nil {
		return nil, fmt.Errorf("list shares: %w", err)
	}
	return all, nil
}
