package pgdb

import (
	"testing"
	"time"
)

// RolledBack is rolledBack, for tests.
func RolledBack(err error) bool { return rolledBack(err) }

// ConnectWithin changes how long Connect waits, for one test.
func ConnectWithin(t *testing.T, within time.Duration) {
	usual := connectAlone
	connectAlone = within
	t.Cleanup(func() { connectAlone = usual })
}
