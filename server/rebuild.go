package server

import (
	"context"
	"fmt"
	"math"

	"relevel/events"
	"relevel/jobs"
)

// Rebuild makes a firm's derived rows again from its log and its quarantine: the
// summaries of its jobs and their diary, and which counters came from each device. It may be
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
	return saveHeard(ctx, store, heardIn(key.firm, all))
}

func saveHeard(ctx context.Context, store jobs.Phones, all []jobs.Heard) error {
	for _, h := range all {
		if err := store.HearPhone(ctx, h); err != nil {
			return err
		}
	}
	return nil
}
