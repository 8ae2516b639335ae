package torture_test

import (
	"context"
	"slices"
	"time"

	"relevel/events"
	"relevel/events/pglog"
	"relevel/events/pgproof"
)

// photosSafe waits until what phones have forgotten is called safe, also after somebody
// lied about it.
func (c *crew) photosSafe() {
	c.t.Helper()
	ledger := pglog.NewLedger(c.db.App)
	c.within(recovery, "the photos are safe", func() bool {
		c.book.Lock()
		dropped := slices.Clone(c.dropped)
		c.book.Unlock()
		kept, err := ledger.FindAll(context.Background(), c.firm, dropped)
		return err == nil && !slices.ContainsFunc(kept, func(k events.Kept) bool { return !k.State.Safe() })
	})
}

// headsSigned waits until there is a checkpoint of all that was acknowledged.
func (c *crew) headsSigned() {
	c.t.Helper()
	heads := map[events.ID]int64{}
	c.book.Lock()
	for _, e := range c.acked {
		heads[e.job] = max(heads[e.job], e.seq)
	}
	c.book.Unlock()
	proofs := pgproof.New(c.db.App)
	c.within(3*recovery, "the heads are signed", func() bool {
		sizes, err := proofs.LastSizes(context.Background(), c.firm, c.jobs)
		for job, seq := range heads {
			if sizes[job] < seq {
				return false
			}
		}
		return err == nil
	})
}

// working waits until the server says that it is ready and acknowledges what comes. It
// returns how long that took.
func (c *crew) working() time.Duration {
	c.t.Helper()
	began := time.Now()
	c.within(recovery, "the server is ready", c.ready)
	was := c.count.stored.Load()
	c.within(recovery, "events are acknowledged", func() bool { return c.count.stored.Load() > was })
	return time.Since(began)
}
