//go:build torture

package torture_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
	"time"
)

// How long a crew works before another firm takes its place, so that each audit reads
// a bounded book.
const crewTime = 2 * time.Minute

// What kills Postgres may not come so often that it is given up, which is after five
// times in a minute.
const (
	fewKills   = 3
	killWindow = 70 * time.Second
)

// Faults are drawn for TORTURE_MINUTES by TORTURE_SEED. Their order follows from the
// seed; what people do meanwhile does not.
func TestTorture(t *testing.T) {
	minutes, _ := strconv.ParseFloat(os.Getenv("TORTURE_MINUTES"), 64)
	seed, _ := strconv.ParseUint(os.Getenv("TORTURE_SEED"), 10, 64)
	d := &dice{rand: rand.New(rand.NewPCG(seed, 0))}
	w := newWorld(t)
	end := time.Now().Add(time.Duration(minutes * float64(time.Minute)))
	told := time.Now()
	for more := true; more && !t.Failed(); more = time.Now().Before(end) {
		c := w.newFirm(3)
		c.begin()
		for stop := time.Now().Add(crewTime); ; {
			c.suffer(d.draw(), d.duration())
			if time.Since(told) > time.Minute {
				fmt.Println(w.count.line()) // at once; t.Log may keep it
				told = time.Now()
			}
			if t.Failed() || time.Now().After(stop) || time.Now().After(end) {
				break
			}
		}
		c.conclude()
	}
	fmt.Printf("seed %d\n%s", seed, w.count)
	if w.count.bad() {
		t.Error("something was lost, or is not as it was signed")
	}
}

// dice draw faults.
type dice struct {
	rand  *rand.Rand
	kills []time.Time
}

// draw draws a fault.
func (d *dice) draw() fault {
	for len(d.kills) > 0 && time.Since(d.kills[0]) > killWindow {
		d.kills = d.kills[1:]
	}
	for {
		f := faults[d.rand.IntN(len(faults))]
		if !f.kills {
			return f
		}
		if len(d.kills) < fewKills {
			d.kills = append(d.kills, time.Now())
			return f
		}
	}
}

// duration is mostly short: what breaks, breaks while something begins or ends.
func (d *dice) duration() time.Duration {
	if d.rand.IntN(5) == 0 {
		return time.Duration(d.rand.IntN(8000)) * time.Millisecond
	}
	return time.Duration(d.rand.IntN(1500)) * time.Millisecond
}

// bad reports whether something happened that never may.
func (c *counts) bad() bool { return c.lost.Load()+c.gaps.Load()+c.forks.Load() > 0 }

// line is how far it is.
func (c *counts) line() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	total := 0
	for _, n := range c.faults {
		total += n
	}
	return fmt.Sprintf("%5.1f min: %d faults, %d events, %d photos, %d checkpoints, %d lost, %d gaps, %d forks", time.Since(c.began).Minutes(),
		total, c.stored.Load(), c.photosSafe.Load(), c.checkpoints.Load(), c.lost.Load(), c.gaps.Load(), c.forks.Load())
}
