package torture_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"
)

// counts are what came of it all.
type counts struct {
	sent, refused, unknown         atomic.Int64 // batches
	stored, repeated               atomic.Int64 // events
	reads, heard                   atomic.Int64
	photos, uploads                atomic.Int64
	photosWaited, photosSafe       atomic.Int64
	lost, gaps, forks, checkpoints atomic.Int64

	mu       sync.Mutex
	began    time.Time
	last     time.Time // when something was acknowledged
	away     time.Duration
	recovery time.Duration // the longest
	faults   map[string]int
	audits   int
}

// noticeable is how long nothing may be acknowledged before that counts as a time in
// which the server was not there.
const noticeable = time.Second

// acknowledge notes that a batch was.
func (c *counts) acknowledge() {
	c.mu.Lock()
	defer c.mu.Unlock()
	if gap := time.Since(c.last); !c.last.IsZero() && gap > noticeable {
		c.away += gap
	}
	c.last = time.Now()
}

// rest says that nobody works for a while.
func (c *counts) rest() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.last = time.Time{}
}

func (c *counts) fault(name string, took time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.faults[name]++
	c.recovery = max(c.recovery, took)
}

// failed is how many batches were not acknowledged.
func (c *counts) failed() int64 { return c.refused.Load() + c.unknown.Load() }

// String is the whole table.
func (c *counts) String() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	var b strings.Builder
	row := func(what string, n any) { fmt.Fprintf(&b, "  %-44s %10v\n", what, n) }
	for _, name := range slices.Sorted(maps.Keys(c.faults)) {
		row(name, c.faults[name])
	}
	fmt.Fprintln(&b)
	row("minutes", fmt.Sprintf("%.1f", time.Since(c.began).Minutes()))
	row("batches sent", c.sent.Load())
	row("  answered 503", c.refused.Load())
	row("  of which no answer came", c.unknown.Load())
	row("events acknowledged as stored", c.stored.Load())
	row("  as repeated", c.repeated.Load())
	row("pages read", c.reads.Load())
	row("heads heard on streams", c.heard.Load())
	row("checkpoints signed", c.checkpoints.Load())
	row("photos taken", c.photos.Load())
	row("  uploads", c.uploads.Load())
	row("  times one had to wait on its phone", c.photosWaited.Load())
	row("  durable", c.photosSafe.Load())
	row("audits", c.audits)
	row("seconds without any acknowledgement", fmt.Sprintf("%.0f", c.away.Seconds()))
	row("longest recovery, seconds", fmt.Sprintf("%.1f", c.recovery.Seconds()))
	row("lost", c.lost.Load())
	row("gaps", c.gaps.Load())
	row("forks", c.forks.Load())
	return b.String()
}
