package census_test

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"relevel/server/census"
)

// A reader counts now and then, not when it is asked; what it found grows stale when
// nothing can be counted, of which it tells once.
func TestReader(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var counted atomic.Int32
		var away atomic.Bool
		var out bytes.Buffer
		r := census.NewReader(func(context.Context) (census.Census, error) {
			counted.Add(1)
			if away.Load() {
				return census.Census{}, errors.New("it is away")
			}
			return census.Census{Apart: 7}, nil
		}, slog.New(slog.NewTextHandler(&out, nil)))
		if _, fresh := r.Latest(); fresh {
			t.Error("figures of nothing are fresh")
		}
		ctx, end := context.WithCancel(t.Context())
		defer end()
		go r.Run(ctx)
		synctest.Wait()
		for range 9 {
			if c, fresh := r.Latest(); !fresh || c.Apart != 7 {
				t.Errorf("%+v, fresh %t", c, fresh)
			}
		}
		if n := counted.Load(); n != 1 {
			t.Errorf("counted %d times, want once", n)
		}
		away.Store(true)
		time.Sleep(10 * census.Usual)
		synctest.Wait()
		if _, fresh := r.Latest(); fresh {
			t.Error("figures of long ago are fresh")
		}
		if n := strings.Count(out.String(), "it is away"); n != 1 {
			t.Errorf("told %d times:\n%s", n, &out)
		}
		away.Store(false)
		time.Sleep(census.Usual)
		synctest.Wait()
		if _, fresh := r.Latest(); !fresh {
			t.Error("it came back, and the figures did not")
		}
	})
}
