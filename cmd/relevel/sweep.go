package main

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/jackc/pgx/v5"
	"golang.org/x/time/rate"

	"relevel/events"
	"relevel/events/scrub"
	"relevel/server/pictures"
	"relevel/server/watch"
)

// Files are read back some time after they were stored, when they cannot come
// from a cache on the way, and again now and then for as long as they are kept.
const (
	sweepEvery  = 5 * time.Minute
	settleTime  = 10 * time.Minute
	scrubAfter  = 30 * 24 * time.Hour
	sweepAtOnce = 50 // files of one firm, before it is another's turn
	// sweepTime is how long a turn takes at most: what is left is first at the next.
	sweepTime = 4 * time.Minute
	// sweepPace is how many bytes a second are read back: in the month of scrubAfter
	// 8 TB, and no more than a phone that looks at photos takes.
	sweepPace = 4 << 20
	// behindAfter is when somebody ought to know that the pace does not suffice.
	behindAfter = 2 * scrubAfter
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

// sweep reads back what is due in every firm, some of each in turn, so that one with
// many photos keeps no other waiting. Whatever fails is due again at the next turn.
func (i *instance) sweep(ctx context.Context, now time.Time) {
	ctx, cancel := context.WithTimeout(ctx, sweepTime)
	defer cancel()
	firms, err := i.stores.firms(ctx)
	if err != nil {
		i.log.WarnContext(ctx, "photos were not read back", "err", err)
		return
	}
	s := &scrub.Scrubber{Photos: i.stores.photos, Pace: paced(sweepPace), Whole: pictures.Whole}
	for len(firms) > 0 && ctx.Err() == nil {
		var more []events.ID
		for _, firm := range firms {
			if i.sweepFirm(ctx, s, firm, now) {
				more = append(more, firm)
			}
		}
		firms = more
	}
	for _, firm := range firms {
		i.tellBehind(context.WithoutCancel(ctx), firm, now)
	}
}

// sweepFirm reads back some of what is due in a firm, and reports whether there may be
// more.
func (i *instance) sweepFirm(ctx context.Context, s *scrub.Scrubber, firm events.ID, now time.Time) (more bool) {
	for _, due := range []events.KeptQuery{
		{Firm: firm, State: events.FileStored, Before: now.Add(-settleTime), Limit: sweepAtOnce},
		{Firm: firm, State: events.FileDurable, Before: now.Add(-scrubAfter), Limit: sweepAtOnce},
		// A crash, or a store that was wrong for a while, leaves files that are
		// there and not called so, when no phone has them any more.
		{Firm: firm, State: events.FileReceived, Before: now.Add(-settleTime), Limit: sweepAtOnce},
	} {
		found, err := s.Firm(ctx, due, now)
		for _, k := range found.Damaged {
			if due.State == events.FileReceived {
				continue // it was told when it was found
			}
			i.log.ErrorContext(ctx, "a stored file is damaged", "firm", k.Firm.String(), "sha256", k.SHA256.String(), "reason", k.Reason)
		}
		if found.Unmade > 0 {
			i.log.WarnContext(ctx, "smaller sizes of photos could not be read and are made again", "firm", firm.String(), "sizes", found.Unmade)
		}
		if err != nil && ctx.Err() == nil {
			i.log.WarnContext(ctx, "photos were not read back", "firm", due.Firm.String(), "err", err)
			return false
		}
		more = more || found.Read == sweepAtOnce
	}
	return more
}

// tellBehind says when a firm's photos are read back too rarely.
func (i *instance) tellBehind(ctx context.Context, firm events.ID, now time.Time) {
	late, err := i.stores.photos.Ledger.Oldest(ctx, events.KeptQuery{Firm: firm, State: events.FileDurable, Before: now.Add(-behindAfter), Limit: 1})
	if err == nil && len(late) > 0 {
		i.log.WarnContext(ctx, "photos are read back too rarely: run relevel scrub beside the server", "firm", firm.String(), "last", late[0].At)
	}
}

// paced lets so many bytes a second pass. What is larger than a second's worth goes
// through by itself and is waited for afterwards.
func paced(perSecond int) func(context.Context, int64) error {
	bucket := rate.NewLimiter(rate.Limit(perSecond), max(perSecond, events.MaxPhotoBytes))
	return func(ctx context.Context, n int64) error {
		return bucket.WaitN(ctx, int(min(n, int64(bucket.Burst()))))
	}
}

// firms lists the firms that have a job, as the role that may look over all of
// them and sees ids alone.
func (s *stores) firms(ctx context.Context) ([]events.ID, error) {
	var ids [][16]byte
	err := s.worker.OverFirms(ctx, func(b *pgx.Batch) {
		b.Queue(`SELECT DISTINCT firm FROM head`).Query(func(rows pgx.Rows) (err error) {
			ids, err = pgx.CollectRows(rows, pgx.RowTo[[16]byte])
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("list firms: %w", err)
	}
	firms := make([]events.ID, len(ids))
	for i, id := range ids {
		firms[i] = id
	}
	return firms, nil
}
