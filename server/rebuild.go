package server

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"relevel/events"
	"relevel/jobs"
)

// Rebuild makes a firm's derived rows again from its log and its quarantine: the
// summaries of its jobs and their diary, the words of their books, and which counters came from each device. It may be
// repeated, and servers may run beside it. Numbers are added to those that are
// known, because an event whose bytes were erased tells of none any more.
func Rebuild(ctx context.Context, log events.Log, store jobs.Store, firm events.ID) (folded int, err error) {
	list, err := store.ListJobs(ctx, firm)
	if err != nil {
		return 0, fmt.Errorf("rebuild: %w", err)
	}
	for _, j := range list {
		if err := rebuildJob(ctx, log, store, jobKey{firm, j.ID}); err != nil {
			return folded, fmt.Errorf("rebuild %s: %w", j.ID, err)
		}
		folded++
	}
	kept, err := log.Quarantined(ctx, firm, math.MaxInt32)
	if err != nil {
		return folded, fmt.Errorf("rebuild: %w", err)
	}
	apart := make([]events.Stored, len(kept))
	for i, q := range kept {
		apart[i] = events.Stored{Event: events.Event{Device: q.Device, DeviceSeq: q.DeviceSeq}, RecordedAt: q.At}
	}
	return folded, saveHeard(ctx, store, heardIn(firm, apart))
}

func rebuildJob(ctx context.Context, log events.Log, store jobs.Store, key jobKey) error {
	all, err := readAll(ctx, log, key, -1)
	if err != nil {
		return err
	}
	state := jobs.Refold(key.job, all)
	if err := store.SaveSummary(ctx, summaryOf(key, state)); err != nil {
		return err
	}
	if err := rebuildBook(ctx, store, key, state, all); err != nil {
		return err
	}
	return saveHeard(ctx, store, heardIn(key.firm, all))
}

// rebuildBook reads a job's book anew. A server that reads on meanwhile is told
// that it came too late, and looks again; so may we be.
func rebuildBook(ctx context.Context, store jobs.Books, key jobKey, state *jobs.State, all []events.Stored) error {
	after := int64(0)
	for stretch := range slices.Chunk(all, mostInStretch) {
		s := stretchOf(key, state, after, stretch)
		if err := store.SaveBook(ctx, s); errors.Is(err, events.ErrConflict) {
			return nil
		} else if err != nil {
			return err
		}
		after = s.Upto
	}
	return nil
}

func saveHeard(ctx context.Context, store jobs.Phones, all []jobs.Heard) error {
	for _, h := range all {
		if err := store.HearPhone(ctx, h); err != nil {
			return err
		}
	}
	return nil
}
