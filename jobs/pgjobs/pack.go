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
	packColumns = `firm, id, job, paper, up_to, basis, asked_at, page, pages, made_at, file, bytes, failed`

	// One that failed waits again, under its own id. The other answer has no row, and
	// the next statement finds what is there.
	askPack = `
		INSERT INTO pack AS kept (firm, id, job, paper, up_to, basis, asked_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7)
		ON CONFLICT (firm, job, paper, up_to, basis) DO UPDATE
		SET asked_at = excluded.asked_at, page = 0, pages = 0, failed = ''
		WHERE kept.failed <> ''
		RETURNING ` + packColumns
	selectSamePack = `
		SELECT ` + packColumns + `
		FROM pack
		WHERE firm = $1 AND job = $2 AND paper = $3 AND up_to = $4 AND basis = $5`
	selectPack = `
		SELECT ` + packColumns + `
		FROM pack
		WHERE firm = $1 AND id = $2`
	selectPacks = `
		SELECT ` + packColumns + `
		FROM pack
		WHERE firm = $1 AND job = $2
		ORDER BY asked_at DESC, id DESC`
	markPack = `
		UPDATE pack
		SET page = CASE WHEN made_at IS NULL THEN $3 ELSE page END, pages = CASE WHEN made_at IS NULL THEN $4 ELSE pages END,
			failed = CASE WHEN made_at IS NULL THEN $8 ELSE failed END, bytes = CASE WHEN made_at IS NULL THEN $7 ELSE bytes END,
			file = CASE WHEN made_at IS NULL THEN $6 ELSE file END, made_at = CASE WHEN made_at IS NULL THEN $5::timestamptz ELSE made_at END
		WHERE firm = $1 AND id = $2
		RETURNING ` + packColumns
	forgetPacks = `
		DELETE FROM pack
		WHERE firm = $1 AND job = $2 AND id IN (
			SELECT id FROM (
				SELECT id, row_number() OVER (PARTITION BY paper ORDER BY asked_at DESC, id DESC) AS n
				FROM pack
				WHERE firm = $1 AND job = $2 AND (made_at IS NOT NULL OR failed <> '')
			) AS done
			WHERE n > $3)
		RETURNING ` + packColumns
)

func scanPack(row pgx.Row) (p jobs.Pack, err error) {
	var made *time.Time
	var basis, file []byte
	err = row.Scan(idInto(&p.Firm), idInto(&p.ID), idInto(&p.Job), &p.Paper, &p.UpTo, &basis, &p.Asked, &p.Page, &p.Pages, &made, &file, &p.Bytes, &p.Failed)
	copy(p.Basis[:], basis)
	copy(p.File[:], file)
	p.Asked, p.Made = p.Asked.UTC(), orNever(made)
	return p, err
}

// AskPack implements jobs.Packs.
func (s *Store) AskPack(ctx context.Context, p jobs.Pack) (now jobs.Pack, asked bool, err error) {
	err = s.change(ctx, p.Firm, with(askPack, uuid(p.Firm), uuid(p.ID), uuid(p.Job), p.Paper, p.UpTo, p.Basis[:], p.Asked),
		func(row pgx.Row) (err error) { now, err = scanPack(row); return err })
	if err == nil {
		return now, true, nil
	}
	if errors.Is(err, events.ErrNotFound) && !p.Firm.IsZero() { // it is there, and did not fail
		err = s.find(ctx, p.Firm, with(selectSamePack, uuid(p.Firm), uuid(p.Job), p.Paper, p.UpTo, p.Basis[:]),
			func(row pgx.Row) (err error) { now, err = scanPack(row); return err })
	}
	if err != nil {
		return jobs.Pack{}, false, fmt.Errorf("ask for a pack: %w", missing(err))
	}
	return now, false, nil
}

// FindPack implements jobs.Packs.
func (s *Store) FindPack(ctx context.Context, firm, id events.ID) (p jobs.Pack, err error) {
	err = s.find(ctx, firm, with(selectPack, uuid(firm), uuid(id)), func(row pgx.Row) (err error) { p, err = scanPack(row); return err })
	if err != nil {
		return jobs.Pack{}, fmt.Errorf("find pack: %w", err)
	}
	return p, nil
}

// ListPacks implements jobs.Packs.
func (s *Store) ListPacks(ctx context.Context, firm, job events.ID) ([]jobs.Pack, error) {
	all, err := listOf(ctx, s, firm, with(selectPacks, uuid(firm), uuid(job)), scanPack)
	if err != nil {
		return nil, fmt.Errorf("list packs: %w", err)
	}
	return all, nil
}

// MarkPack implements jobs.Packs.
func (s *Store) MarkPack(ctx context.Context, firm, id events.ID, st jobs.PackStanding) error {
	var file []byte
	if st.Ready() {
		file = st.File[:]
	}
	err := s.change(ctx, firm, with(markPack, uuid(firm), uuid(id), st.Page, st.Pages, orNullTime(st.Made), file, st.Bytes, st.Failed),
		func(row pgx.Row) error { _, err := scanPack(row); return err })
	if err != nil {
		return fmt.Errorf("mark pack: %w", err)
	}
	return nil
}

// ForgetPacks implements jobs.Packs.
func (s *Store) ForgetPacks(ctx context.Context, firm, job events.ID, keep int) (gone []jobs.Pack, err error) {
	if firm.IsZero() {
		return nil, nil
	}
	err = s.db.Write(ctx, firm, func(b *pgx.Batch) {
		b.Queue(forgetPacks, uuid(firm), uuid(job), keep).Query(func(rows pgx.Rows) (err error) {
			gone, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (jobs.Pack, error) { return scanPack(row) })
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("forget packs: %w", err)
	}
	return gone, nil
}
