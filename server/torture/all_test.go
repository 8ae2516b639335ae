//go:build torture

package torture_test

import "testing"

// Every operation at which a program may be killed, before it, while it is under way and
// after it.
func TestEveryFailpoint(t *testing.T) {
	t.Run("Folder", func(t *testing.T) {
		t.Logf("%d points", allPoints(t, func(at int64, when phase) bool { return strikeFolder(t, at, when) }))
	})
	t.Run("Migration", func(t *testing.T) {
		t.Logf("%d points", allPoints(t, newMigrations(t).strike))
	})
	t.Run("Server", func(t *testing.T) {
		t.Logf("%d points", allPoints(t, newWorld(t).strike))
	})
}

// allPoints strikes operation after operation until a run ends without coming so far, in
// each phase, and counts them.
func allPoints(t testing.TB, strike func(at int64, when phase) bool) (struck int) {
	for _, when := range []phase{before, sent, after} {
		for at := int64(1); strike(at, when) && !t.Failed(); at++ {
			if struck++; struck%100 == 0 {
				t.Logf("%d points so far, %s operation %d", struck, when, at)
			}
		}
	}
	return struck
}
