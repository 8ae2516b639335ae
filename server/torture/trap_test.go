package torture_test

import (
	"sync"
	"sync/atomic"
)

// phase says on which side of an operation a program is killed.
type phase int

// The phases: before the operation leaves the program, when it is on its way and nobody
// reads the answer, and when the answer is there and nobody read it.
const (
	before phase = iota
	sent
	after
)

func (p phase) String() string { return [...]string{"before", "while", "after"}[p] }

// trap kills a program at one of the operations that it does on wires, counted from when
// the trap was set. Nobody names the operations: the trap is set for the first, the
// second and so on, until a run ends that does not come so far.
type trap struct {
	at   int64
	when phase
	kill func()

	seen   atomic.Int64
	once   sync.Once
	sprung atomic.Bool
}

// count numbers an operation, from 1; 0 without a trap.
func (t *trap) count() int64 {
	if t == nil {
		return 0
	}
	return t.seen.Add(1)
}

// is reports whether the trap is at an operation and its phase.
func (t *trap) is(number int64, when phase) bool {
	return t != nil && number == t.at && when == t.when
}

// over reports whether the program was killed: nothing more passes.
func (t *trap) over() bool { return t != nil && t.sprung.Load() }

func (t *trap) spring() {
	t.once.Do(func() {
		t.sprung.Store(true)
		t.kill()
	})
}
