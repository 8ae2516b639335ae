package main

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/server/watch"
)

// Files are read back some time after they were stored, when they cannot come
// from a cache on the way, and again now and then for as long as they are kept.
const (
	sweepEvery  = 5 * time.Minute
	settleTime  = 10 * time.Minute
	scrubAfter  = 30 * 24 * time.Hour
	sweepAtOnce = 50 // files of one firm
)

func (i *instance) startSweeping(ctx context.Context) {
	ctx, _ = watch.Begin(ctx, slog.String(watch.Work, "sweep"))
	if i.stores.worker == nil {
		return
	}
	i.background.Go(func() {
		tick := time.NewTicker(sweepEvery)
		defer tick.Stop()
		for {
			select {
			case <-ctx.Done():
				return
			case now := <-tick.C:
				i.sweep(ctx, now)
			}
		}
	})
}

// sweep reads back what is due in every firm. Whatever fails is due again at
// the next turn.
func (i *instance) sweep(ctx context.Context, now time.Time) {
	firms, err := i.stores.firms(ctx)
	if err != nil {
		i.log.WarnContext(ctx, "photos were not read back", "err", err)
		return
	}
	for _, firm := range firms {
		for _, due := range []events.KeptQuery{
			{Firm: firm, State: events.FileStored, Before: now.Add(-settleTime), Limit: sweepAtOnce},
			{Firm: firm, State: events.FileDurable, Before: now.Add(-scrubAfter), Limit: sweepAtOnce},
			// A crash, or a store that was wrong for a while, leaves files that are
			// there and not called so, when no phone has them any more.
			{Firm: firm, State: events.FileReceived, Before: now.Add(-settleTime), Limit: sweepAtOnce},
		} {
			i.sweepFirm(ctx, due, now)
		}
	}
}

func (i *instance) sweepFirm(ctx context.Context, due events.KeptQuery, now time.Time) {
	swept, err := i.stores.photos.Sweep(ctx, due, now)
	for _, k := range swept.Damaged {
		i.log.ErrorContext(ctx, "a stored file is damaged", "firm", k.Firm.String(), "sha256", k.SHA256.String(), "reason", k.Reason)
	}
	if err != nil && ctx.Err() == nil {
		i.log.WarnContext(ctx, "photos were not read back", "firm", due.Firm.String(), "err", err)
	}
}

// firms lists the firms that have a job, as the role that may look over all of
// them and sees ids alone.
func (s *stores) firms(ctx context.Context) ([]events.ID, error) {
	rows, err := s.worker.Pool().Query(ctx, `SELECT DISTINCT firm FROM head`)
	if err != nil {
		return nil, fmt.Errorf("list firms: %w", err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[[16]byte])
	if err != nil {
		return nil, fmt.Errorf("list firms: %w", err)
	}
	firms := make([]events.ID, len(ids))
	for i, id := range ids {
		firms[i] = id
	}
	return firms, nil
}
