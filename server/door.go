package server

import (
	"context"
	"crypto/sha256"
	"sync"
	"time"

	"golang.org/x/time/rate"

	"relevel/events"
	"relevel/jobs"
)

// How often somebody may try what opens an account, a firm or a share: over all servers
// together. Whoever signed in on a browser before has an allowance of their own there, so
// that nobody locks them out by trying their name from elsewhere; who is new waits at most
// some seconds for the next try.
const (
	doorEvery  = 3 * time.Second // of one address
	doorBurst  = 20
	nameEvery  = 10 * time.Second // of one name, from wherever, and of a name on its own browser
	nameBurst  = 10
	resetEvery = 10 * time.Minute // letters to one name
	resetBurst = 2
	takeEvery  = time.Minute // packs and bundles by one owner's link: each costs the server seconds
	takeBurst  = 10
	// Of pairing codes one address may try ten at once and then one every ten seconds: of
	// 2^40 that is none in the ten minutes that one opens.
	pairEvery = 10 * time.Second
	pairBurst = 10
)

// doors limit the tries.
type doors struct {
	addresses, names, resets *door
	pairings                 *door // who tries pairing codes
	shares                   *door // who tries secrets of owners' links
	takings                  *door // by which link packs and bundles are asked for
}

func newDoors(c Config) doors {
	t := &tries{store: c.Store, now: c.Now}
	return doors{
		addresses: newDoor(t, "address", jobs.Pace{Burst: c.Limits.Doors, Every: doorEvery}, errTooManyTries),
		names:     newDoor(t, "name", jobs.Pace{Burst: nameBurst, Every: nameEvery}, errTooManyTries),
		resets:    newDoor(t, "reset", jobs.Pace{Burst: resetBurst, Every: resetEvery}, errTooManyTries),
		pairings:  newDoor(t, "pairing", jobs.Pace{Burst: c.Limits.Pairs, Every: pairEvery}, errTooManyCodes),
		shares:    newDoor(t, "share", jobs.Pace{Burst: c.Limits.Doors, Every: doorEvery}, errTooManyTries),
		takings:   newDoor(t, "taking", jobs.Pace{Burst: takeBurst, Every: takeEvery}, errTooMuchTaken),
	}
}

// door is one kind of try. The store counts for all servers; before it this server counts
// by itself, so that whoever tries without end costs the store nothing.
type door struct {
	kind  string
	pace  jobs.Pace
	own   *senders
	tries *tries
	full  error // for who comes too often
}

func newDoor(t *tries, kind string, pace jobs.Pace, full error) *door {
	own := &senders{limit: rate.Every(pace.Every), burst: pace.Burst, known: map[string]*rate.Limiter{}}
	return &door{kind: kind, pace: pace, own: own, tries: t, full: full}
}

// enter takes one try of somebody into account; who comes too often is refused.
func (d *door) enter(ctx context.Context, who string) error {
	if !d.own.allow(who) {
		return d.full
	}
	may, err := d.tries.take(ctx, sha256.Sum256([]byte(d.kind+"\x00"+who)), d.pace)
	if err == nil && !may {
		err = d.full
	}
	return err
}

// forgetEvery is how often each server has the store forget tries that are over.
const forgetEvery = time.Minute

// tries is what the store knows of tries.
type tries struct {
	store jobs.Tries
	now   func() time.Time

	mu     sync.Mutex
	forgot time.Time
}

func (t *tries) take(ctx context.Context, of events.Digest, pace jobs.Pace) (may bool, err error) {
	now := t.now()
	if t.forgets(now) {
		if err := t.store.ForgetTries(ctx, now); err != nil {
			return false, err
		}
	}
	return t.store.TakeTry(ctx, of, pace, now)
}

func (t *tries) forgets(now time.Time) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	if now.Sub(t.forgot) < forgetEvery {
		return false
	}
	t.forgot = now
	return true
}
