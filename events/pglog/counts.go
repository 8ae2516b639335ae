package pglog

import "sync/atomic"

// Counts says how many appends of this process went which way, and how often one had
// to be tried again.
//
// Fast went by compare-and-set, alone or with others of their firm, Slow under the lock
// of the job's head. Moved supposed a head which somebody else had moved on; Retried
// are further tries after a lost race or a lost connection, Flushes the statements that
// the fast ones shared.
type Counts struct{ Fast, Slow, Moved, Retried, Flushes int64 }

// counters is Counts while it counts.
type counters struct{ fast, slow, moved, retried atomic.Int64 }

// Counts returns what was counted since the log was made.
func (l *Log) Counts() Counts {
	return Counts{
		Fast: l.counters.fast.Load(), Slow: l.counters.slow.Load(), Moved: l.counters.moved.Load(),
		Retried: l.counters.retried.Load(), Flushes: l.gate.flushes.Load(),
	}
}
