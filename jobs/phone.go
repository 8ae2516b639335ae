package jobs

import (
	"cmp"
	"slices"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// Phone is what is known of a device that records, beside its events. All but the
// report can be made again from the log.
type Phone struct {
	Firm    events.ID
	Device  events.ID
	Seen    Numbers   // the counters of what it sent, those in quarantine too
	HeardAt time.Time // by the server's clock
	Report  *PhoneReport
}

// Heard is one time that something came from a device.
type Heard struct {
	Firm   events.ID
	Device events.ID
	Seen   Numbers
	At     time.Time
}

// PhoneReport is what a phone said last of what is still on it.
type PhoneReport struct {
	Version        string    `json:"version"` // of the app
	Unsent         int       `json:"unsent"`  // records
	OldestUnsentAt time.Time `json:"oldest_unsent_at,omitzero"`
	Photos         int       `json:"photos"`              // not sent yet, sounds among them
	Persisted      *bool     `json:"persisted,omitempty"` // the browser promised to keep its storage
	StorageUsed    int64     `json:"storage_used,omitempty"`
	StorageQuota   int64     `json:"storage_quota,omitempty"`
	At             time.Time `json:"at"` // when the server had it
}

// Check reports, as an InputError, the first field that makes no sense.
func (r PhoneReport) Check() error {
	switch {
	case r.Unsent < 0:
		return levelling.Bad("unsent", "how many records were not sent yet")
	case r.Photos < 0:
		return levelling.Bad("photos", "how many photos and sounds were not sent yet")
	case r.StorageUsed < 0:
		return levelling.Bad("storage_used", "bytes")
	case r.StorageQuota < 0:
		return levelling.Bad("storage_quota", "bytes")
	}
	return checkName("version", r.Version)
}

// Span is a run of numbers, from the first to the last, both in it.
type Span [2]int64

// Numbers is a set of numbers above nought, as its runs: ascending, none touching
// the next.
type Numbers []Span

// mostNumber is far above what a device counts to, and what JavaScript still counts
// by ones.
const mostNumber = 1<<53 - 1

// NumbersOf makes a set. What no device counts to is left out.
func NumbersOf(list ...int64) Numbers {
	runs := make(Numbers, 0, len(list))
	for _, n := range list {
		if n >= 1 && n <= mostNumber {
			runs = append(runs, Span{n, n})
		}
	}
	return runs.joined()
}

// With returns what is in either of two sets.
func (n Numbers) With(other Numbers) Numbers { return slices.Concat(n, other).joined() }

// joined puts runs in order and together; it works in place. A set of none is nil.
func (n Numbers) joined() Numbers {
	if len(n) == 0 {
		return nil
	}
	slices.SortFunc(n, func(a, b Span) int { return cmp.Compare(a[0], b[0]) })
	joined := n[:0]
	for _, run := range n {
		if last := len(joined) - 1; last >= 0 && run[0] <= joined[last][1]+1 {
			joined[last][1] = max(joined[last][1], run[1])
			continue
		}
		joined = append(joined, run)
	}
	return joined
}

// Highest is the last number of a set, 0 of an empty one.
func (n Numbers) Highest() int64 {
	if len(n) == 0 {
		return 0
	}
	return n[len(n)-1][1]
}

// Missing is what a set lacks of all the numbers from 1 to its highest.
func (n Numbers) Missing() Numbers {
	var missing Numbers
	next := int64(1)
	for _, run := range n {
		if run[0] > next {
			missing = append(missing, Span{next, run[0] - 1})
		}
		next = run[1] + 1
	}
	return missing
}

// Count is how many numbers are in a set.
func (n Numbers) Count() int64 {
	sum := int64(0)
	for _, run := range n {
		sum += run[1] - run[0] + 1
	}
	return sum
}
