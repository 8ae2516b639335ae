package server_test

import (
	"math/rand/v2"
	"net/http"
	"os"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// A thousand requests at random doors, each name in them now one's own, now the
// other firm's, now nobody's, and the access now in the header, now in the cookie:
// of a firm that keeps still nothing is seen and nothing is changed, whatever the
// other asks. Then that one asks, and a third keeps still.
func TestRandomRequestsOfTwoFirms(t *testing.T) {
	random := rand.New(rand.NewPCG(firmsSeed(t), 0))
	clock := newHandClock()
	s := newSite(t, withClock(clock))
	one, two := newWorld(t, s, clock), newWorld(t, s, clock)
	// Who asked has hooks now, which go on being tried: a third keeps still.
	for _, w := range []struct{ asks, still *world }{{one, two}, {two, newWorld(t, s, clock)}} {
		before := s.everythingOf(t, w.still)
		none := nobody(t, w.still)
		found := 0
		for range 500 {
			if w.asks.askAtRandom(t, random, w.still, none) < 400 {
				found++
			}
			if t.Failed() {
				break
			}
		}
		if diff := cmp.Diff(before, s.everythingOf(t, w.still)); diff != "" {
			t.Errorf("what is another firm's was changed (-before +after):\n%s", diff)
		}
		if found < 100 {
			t.Errorf("only %d requests of 500 found something: this shows little", found)
		}
	}
}

// firmsSeed is FIRMS_SEED, or another one each time.
func firmsSeed(t *testing.T) uint64 {
	t.Helper()
	seed, err := strconv.ParseUint(os.Getenv("FIRMS_SEED"), 10, 64)
	if err != nil {
		seed = uint64(time.Now().UnixNano())
	}
	t.Logf("play it again with FIRMS_SEED=%d", seed)
	return seed
}

// askAtRandom asks once, and answers with the status. Doors that take a name for a
// thing of one's own are left out: behind it would then be something.
func (w *world) askAtRandom(t *testing.T, random *rand.Rand, other, none *world) int {
	t.Helper()
	w.clock.tick()
	d := doors[random.IntN(len(doors))]
	for d.takes {
		d = doors[random.IntN(len(doors))]
	}
	q := d.request()
	q.byCookie = random.IntN(2) == 0
	names, swapped := w.mixed(random, q, other, none)
	a := w.ask(t, q, names)
	w.sawNothingOf(t, other, a)
	unfit := a.status == http.StatusUnprocessableEntity // what was sent was looked at first
	if a.status >= 500 || named(q.path, swapped) && a.status != http.StatusNotFound && !unfit {
		t.Errorf("%s with %q of another: status %d: %s", d, swapped, a.status, a.body)
	}
	return a.status
}

// mixed draws each name of a request from one's own, another's and nobody's.
func (w *world) mixed(random *rand.Rand, q request, other, none *world) (names map[string]string, swapped []string) {
	keys := q.keys(w)
	slices.Sort(keys) // or the same seed would draw otherwise
	names = w.with(other)
	for _, key := range keys {
		switch random.IntN(4) {
		case 0:
			names[key], w.told[key] = other.names[key], true
			swapped = append(swapped, key)
		case 1:
			names[key] = none.names[key]
			swapped = append(swapped, key)
		}
	}
	return names, swapped
}
