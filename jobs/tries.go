package jobs

import (
	"context"
	"time"

	"relevel/events"
)

// Tries count how often what guards a secret is tried, over all servers that share a
// store, so that somebody who guesses gains nothing by there being several.
type Tries interface {
	// TakeTry takes one try of something into account and reports whether it may be
	// made. One that may not is not counted.
	TakeTry(ctx context.Context, of events.Digest, pace Pace, now time.Time) (may bool, err error)
	// ForgetTries forgets what is as good as never tried.
	ForgetTries(ctx context.Context, now time.Time) error
}

// Pace is how fast something may be tried: so often at once, and then again after each
// span of Every.
type Pace struct {
	Burst int
	Every time.Duration
}

// Take is one try of what was as good as never tried at over (the generic cell rate
// algorithm, ITU-T I.371, annex A, by virtual scheduling). It returns when that
// is so again, which stays where it was if the try may not be made.
func (p Pace) Take(over, now time.Time) (after time.Time, may bool) {
	after = over
	if after.Before(now) {
		after = now
	}
	after = after.Add(p.Every)
	if after.After(now.Add(p.span())) {
		return over, false
	}
	return after, true
}

// span is how far ahead of the clock a whole burst goes.
func (p Pace) span() time.Duration { return time.Duration(p.Burst) * p.Every }
