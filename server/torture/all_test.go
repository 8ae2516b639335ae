//go:build torture

package torture_test

import (
	"fmt"
	"testing"
)

// Every operation at which a program may be killed, before it, while it is under way and
// after it.
func TestEveryFailpoint(t *testing.T) {
	t.Run("Folder", func(t *testing.T) {
		allPoints(t, func(t testing.TB) striker {
			return func(at int64, when phase) bool { return strikeFolder(t, at, when) }
		})
	})
	t.Run("Migration", func(t *testing.T) {
		allPoints(t, func(t testing.TB) striker { return newMigrations(t).strike })
	})
	t.Run("Server", func(t *testing.T) {
		allPoints(t, func(t testing.TB) striker { return newWorld(t).strike })
	})
}

// striker strikes at an operation, and reports whether the program came so far.
type striker func(at int64, when phase) bool

// block is how many operations are struck on what was opened once: each strike leaves
// something behind, of which a server has more to do at the next.
const block = 100

// allPoints strikes operation after operation until a run ends without coming so far, in
// each phase.
func allPoints(t *testing.T, open func(testing.TB) striker) {
	struck := int64(0)
	for _, when := range []phase{before, sent, after} {
		for from, more := int64(1), true; more && !t.Failed(); from += block {
			t.Run(fmt.Sprintf("%s_%d", when, from), func(t *testing.T) {
				strike := open(t)
				for at := from; at < from+block && more && !t.Failed(); at++ {
					if more = strike(at, when); more {
						struck++
					}
				}
			})
		}
	}
	t.Logf("%d points", struck)
}
