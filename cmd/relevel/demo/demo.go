// Package demo is an invented house with a floor that has dropped, the people
// who bring it back to level, and what they wrote down. Nothing in it is real:
// no person, no address, no make of tool.
//
// A [Site] is a job being worked. What its crew reads and jacks comes from a
// simulated [Floor], which alone knows the true heights; what it decides comes
// from the job's own [Book], as on a real job.
package demo

import (
	"context"
	"math/rand/v2"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// Book is where what happens on a site is written down and read back.
type Book interface {
	// Record writes one event down and returns its id.
	Record(ctx context.Context, e Entry) (events.ID, error)

	// Keep takes a photo that an event will refer to.
	Keep(ctx context.Context, jpeg []byte) error

	// Picture is the job after everything that was recorded.
	Picture(ctx context.Context) (jobs.Picture, error)
}

// Entry is one event before it has an envelope.
type Entry struct {
	Kind  events.Kind
	Body  events.Body
	At    time.Time
	By    events.ID
	Files []events.File
}

// source is fixed randomness: the same label gives the same numbers, so that a
// demo loaded twice has the same ids and the same readings.
func source(label string) *rand.ChaCha8 {
	var key [32]byte
	copy(key[:], label)
	return rand.NewChaCha8(key)
}
