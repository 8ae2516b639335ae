package pgjobs

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/jobs"
)

const (
	insertHook = `
		INSERT INTO hook (firm, id, name, url, secret, happenings, created_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7)
		ON CONFLICT (firm, id) DO NOTHING`
	selectHook = `
		SELECT firm, id, name, url, secret, happenings, created_at, paused_at, failing_at, failing
		FROM hook
		WHERE firm = $1 AND id = $2`
	selectHooks = `
		SELECT firm, id, name, url, secret, happenings, created_at, paused_at, failing_at, failing
		FROM hook
		WHERE firm = $1
		ORDER BY created_at DESC, id DESC`
	markHook = `
		UPDATE hook
		SET paused_at = $3, failing_at = $4, failing = $5
		WHERE firm = $1 AND id = $2
		RETURNING firm, id, name, url, secret, happenings, created_at, paused_at, failing_at, failing`
	deleteTold       = `DELETE FROM hook_told WHERE firm = $1 AND hook = $2`
	deleteDeliveries = `DELETE FROM hook_delivery WHERE firm = $1 AND hook = $2`
	deleteHook       = `DELETE FROM hook WHERE firm = $1 AND id = $2`
	upsertTold       = `
		INSERT INTO hook_told AS kept (firm, hook, subject, seq)
		VALUES ($1, $2, $3, $4)
		ON CONFLICT (firm, hook, subject) DO UPDATE
		SET seq = greatest(kept.seq, excluded.seq)`
	selectToldOf = `
		SELECT seq
		FROM hook_told
		WHERE firm = $1 AND hook = $2 AND subject = $3`
	selectTold = `
		SELECT subject, seq
		FROM hook_told
		WHERE firm = $1 AND hook = $2`
	insertDelivery = `
		INSERT INTO hook_delivery (firm, id, hook, delivery, subject, seq, happening, at, status, took_ms, reason)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)
		ON CONFLICT (firm, id) DO NOTHING`
	dropDeliveries = `
		DELETE FROM hook_delivery
		WHERE firm = $1 AND hook = $2 AND id IN (
			SELECT id FROM hook_delivery
			WHERE firm = $1 AND hook = $2
			ORDER BY at DESC, id DESC
			OFFSET $3)`
	selectDeliveries = `
		SELECT firm, id, hook, delivery, subject, seq, happening, at, status, took_ms, reason
		FROM hook_delivery
		WHERE firm = $1 AND hook = $2
		ORDER BY at DESC, id DESC`
)

func scanHook(row pgx.Row) (h jobs.Hook, err error) {
	var happenings []string
	var paused, failing *time.Time
	err = row.Scan(idInto(&h.Firm), idInto(&h.ID), &h.Name, &h.URL, &h.Secret, &happenings, &h.CreatedAt, &paused, &failing, &h.Failing)
	for _, one := range happenings {
		h.Happenings = append(h.Happenings, jobs.Happening(one))
	}
	h.CreatedAt, h.PausedAt, h.FailingAt = h.CreatedAt.UTC(), timeOrZero(paused), timeOrZero(failing)
	return h, err
}

func timeOrZero(at *time.Time) time.Time {
	if at == nil {
		return time.Time{}
	}
	return at.UTC()
}

func timeOrNull(at time.Time) *time.Time {
	if at.IsZero() {
		return nil
	}
	return &at
}

// CreateHook implements jobs.Hooks.
func (s *Store) CreateHook(ctx context.Context, h jobs.Hook) error {
	happenings := make([]string, len(h.Happenings))
	for i, one := range h.Happenings {
		happenings[i] = string(one)
	}
	var kept jobs.Hook
	err := s.create(ctx, h.Firm,
		with(insertHook, uuid(h.Firm), uuid(h.ID), h.Name, h.URL, h.Secret, happenings, h.CreatedAt),
		with(selectHook, uuid(h.Firm), uuid(h.ID)),
		func(row pgx.Row) (err error) { kept, err = scanHook(row); return err })
	if err != nil {
		return fmt.Errorf("create hook: %w", err)
	}
	if kept.Name != h.Name || kept.URL != h.URL || kept.Secret != h.Secret || !slices.Equal(kept.Happenings, h.Happenings) {
		return fmt.Errorf("create hook: %w", events.ErrConflict)
	}
	return nil
}

// FindHook implements jobs.Hooks.
func (s *Store) FindHook(ctx context.Context, firm, id events.ID) (h jobs.Hook, err error) {
	err = s.find(ctx, firm, with(selectHook, uuid(firm), uuid(id)), func(row pgx.Row) (err error) { h, err = scanHook(row); return err })
	if err != nil {
		return jobs.Hook{}, fmt.Errorf("find hook: %w", err)
	}
	return h, nil
}

// ListHooks implements jobs.Hooks.
func (s *Store) ListHooks(ctx context.Context, firm events.ID) ([]jobs.Hook, error) {
	hooks, err := list(ctx, s, firm, selectHooks, scanHook)
	if err != nil {
		return nil, fmt.Errorf("list hooks: %w", err)
	}
	return hooks, nil
}

// MarkHook implements jobs.Hooks.
func (s *Store) MarkHook(ctx context.Context, firm, id events.ID, st jobs.HookStanding) error {
	err := s.change(ctx, firm, with(markHook, uuid(firm), uuid(id), timeOrNull(st.PausedAt), timeOrNull(st.FailingAt), st.Failing),
		func(row pgx.Row) error { _, err := scanHook(row); return err })
	if err != nil {
		return fmt.Errorf("mark hook: %w", err)
	}
	return nil
}

// DeleteHook implements jobs.Hooks.
func (s *Store) DeleteHook(ctx context.Context, firm, id events.ID) error {
	gone := int64(0)
	err := s.db.Write(ctx, firm, func(b *pgx.Batch) {
		b.Queue(deleteTold, uuid(firm), uuid(id))
		b.Queue(deleteDeliveries, uuid(firm), uuid(id))
		b.Queue(deleteHook, uuid(firm), uuid(id)).Exec(func(tag pgconn.CommandTag) error { gone = tag.RowsAffected(); return nil })
	})
	if err == nil && gone == 0 {
		err = events.ErrNotFound
	}
	if err != nil {
		return fmt.Errorf("delete hook: %w", err)
	}
	return nil
}

// ofHook writes what belongs to a hook, which must be there.
func (s *Store) ofHook(ctx context.Context, firm events.ID, what string, queue func(b *pgx.Batch)) error {
	err := s.db.Write(ctx, firm, queue)
	if pgdb.Code(err) == foreignKeyViolation {
		err = fmt.Errorf("%w: %w", events.ErrNotFound, err)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return nil
}

// Tell implements jobs.Hooks.
func (s *Store) Tell(ctx context.Context, t jobs.Told) error {
	return s.ofHook(ctx, t.Firm, "tell a hook", func(b *pgx.Batch) {
		b.Queue(upsertTold, uuid(t.Firm), uuid(t.Hook), t.Subject, t.Seq)
	})
}

// FindTold implements jobs.Hooks.
func (s *Store) FindTold(ctx context.Context, firm, hook events.ID, subject string) (seq int64, err error) {
	err = s.find(ctx, firm, with(selectToldOf, uuid(firm), uuid(hook), subject), func(row pgx.Row) error { return row.Scan(&seq) })
	if err != nil {
		return 0, fmt.Errorf("find what a hook was told: %w", err)
	}
	return seq, nil
}

// ListTold implements jobs.Hooks.
func (s *Store) ListTold(ctx context.Context, firm, hook events.ID) (map[string]int64, error) {
	var told map[string]int64
	err := s.db.Read(ctx, firm, func(b *pgx.Batch) {
		told = map[string]int64{}
		b.Queue(selectTold, uuid(firm), uuid(hook)).Query(func(rows pgx.Rows) error {
			var subject string
			var seq int64
			_, err := pgx.ForEachRow(rows, []any{&subject, &seq}, func() error { told[subject] = seq; return nil })
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("list what a hook was told: %w", err)
	}
	return told, nil
}

// AddDelivery implements jobs.Hooks.
func (s *Store) AddDelivery(ctx context.Context, d jobs.Delivery) error {
	return s.ofHook(ctx, d.Firm, "add a delivery", func(b *pgx.Batch) {
		b.Queue(insertDelivery, uuid(d.Firm), uuid(d.ID), uuid(d.Hook), uuid(d.Delivery), d.Subject, d.Seq, string(d.Happening), d.At, d.Status, d.Took.Milliseconds(), d.Reason)
		b.Queue(dropDeliveries, uuid(d.Firm), uuid(d.Hook), jobs.KeptDeliveries)
	})
}

// ListDeliveries implements jobs.Hooks.
func (s *Store) ListDeliveries(ctx context.Context, firm, hook events.ID) (all []jobs.Delivery, err error) {
	err = s.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(selectDeliveries, uuid(firm), uuid(hook)).Query(func(rows pgx.Rows) (err error) {
			all, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (d jobs.Delivery, err error) {
				var ms int64
				err = row.Scan(idInto(&d.Firm), idInto(&d.ID), idInto(&d.Hook), idInto(&d.Delivery), &d.Subject, &d.Seq, (*string)(&d.Happening), &d.At, &d.Status, &ms, &d.Reason)
				d.At, d.Took = d.At.UTC(), time.Duration(ms)*time.Millisecond
				return d, err
			})
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("list deliveries: %w", err)
	}
	return all, nil
}
