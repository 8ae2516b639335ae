package server

import (
	"fmt"
	"math/rand/v2"
	"sync"
	"time"
)

// leaving is that a server is about to end.
type leaving struct {
	once   sync.Once
	begun  chan struct{} // closed when it begins
	from   time.Time     // read after begun
	within time.Duration // likewise
}

func (l *leaving) begin(now time.Time, within time.Duration) {
	l.once.Do(func() {
		l.from, l.within = now, within
		close(l.begun)
	})
}

// has reports whether the server is about to end.
func (l *leaving) has() bool {
	select {
	case <-l.begun:
		return true
	default:
		return false
	}
}

// turn is how long a stream still goes on, once it has begun. All that are open end
// spread over the time there is, but for the first third: by then whoever leads requests
// here has seen that the server is leaving.
func (l *leaving) turn(now time.Time) time.Duration {
	at := l.within/3 + rand.N(l.within/2+1)
	return max(0, l.from.Add(at).Sub(now))
}

// A listener whose stream ends comes again by itself, not at the same time as all others.
const (
	comeAgainFirst = 500 * time.Millisecond
	comeAgainLast  = 3 * time.Second
)

// comeAgain tells a listener when to come again.
func comeAgain() string {
	wait := comeAgainFirst + rand.N(comeAgainLast-comeAgainFirst)
	return fmt.Sprintf("retry: %d\n\n", wait.Milliseconds())
}
