package server

import (
	"testing"
	"time"
)

// However long a store was away, heads are signed soon after it is back.
func TestSignLater(t *testing.T) {
	for attempts := 1; attempts < 100; attempts++ {
		wait, again := signLater(attempts)
		if !again || wait < time.Second || wait > 30*time.Second {
			t.Errorf("after %d attempts: %s, %t", attempts, wait, again)
		}
	}
}
