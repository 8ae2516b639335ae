package server

import (
	"context"
	"testing"
	"testing/synctest"
	"time"
)

// What is under way when the server ends is finished and comes once more for what is
// left; only what takes too long is broken off.
func TestBehindFinishesWhatIsUnderWay(t *testing.T) {
	for _, c := range []struct {
		takes time.Duration
		whole bool
	}{{time.Second, true}, {time.Minute, false}} {
		synctest.Test(t, func(t *testing.T) {
			ctx, end := context.WithCancel(t.Context())
			var whole []bool
			b := newBehind("a test", func(ctx context.Context) bool {
				select {
				case <-time.After(c.takes):
				case <-ctx.Done():
				}
				whole = append(whole, ctx.Err() == nil)
				return true
			})
			b.ask()
			ended := make(chan struct{})
			go func() {
				b.run(ctx)
				close(ended)
			}()
			synctest.Wait()
			end()
			began := time.Now()
			<-ended
			if len(whole) != 2 || whole[0] != c.whole || whole[1] != c.whole {
				t.Errorf("of work that takes %s these were whole: %t", c.takes, whole)
			}
			if took := time.Since(began); took > 2*behindLast {
				t.Errorf("it ended after %s", took)
			}
		})
	}
}
