package events

import (
	"context"
	"crypto/sha256"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"relevel/levelling"
)

// Desk is where the office decides about what is kept in quarantine. What is
// kept is never changed by that: a decision is a row of its own, and the last
// one about a thing stands.
type Desk interface {
	// Apart lists what is kept under a firm, newest first, up to limit: with
	// settled false what waits for somebody to decide, with true the rest.
	Apart(ctx context.Context, firm ID, settled bool, limit int) ([]Case, error)

	// FindApart returns one thing by its key, with all decisions about it, the
	// first one first. One that this firm does not have is ErrNotFound.
	FindApart(ctx context.Context, firm ID, key Digest) (Quarantined, []Decision, error)

	// Decide adds a decision, which is durable on return. D.N is one more than
	// the number of those before it; one that is there already with that number
	// is ErrConflict, unless it says the same: then nothing is added. A number
	// that leaves a gap is ErrConflict too. What is not kept is ErrNotFound.
	Decide(ctx context.Context, d Decision) error

	// Undecided counts what waits for somebody to decide, by the job that its
	// sender named. That need not be a job of the firm.
	Undecided(ctx context.Context, firm ID) (map[ID]int, error)
}

// Case is a thing in quarantine with what was decided about it last.
type Case struct {
	Quarantined
	Last Decision // with N 0 where nobody decided yet
}

// Decision is what somebody at the desk decided about a thing in quarantine.
type Decision struct {
	Firm  ID        `json:"-"`
	Key   Digest    `json:"-"` // of the thing
	N     int       `json:"n"` // counts the decisions about it, from 1
	What  Settling  `json:"what"`
	Why   string    `json:"why,omitempty"`
	By    ID        `json:"by,omitzero"`    // a person, by id only
	Job   ID        `json:"job,omitzero"`   // into which it was taken
	Event ID        `json:"event,omitzero"` // as which
	At    time.Time `json:"at"`
}

// Settling is what became of a thing in quarantine.
type Settling string

// What can become of it.
const (
	Accepted  Settling = "accepted"  // recorded again as it is, as an event of a job
	Corrected Settling = "corrected" // recorded again with a change
	PutAside  Settling = "set-aside" // it is to count nowhere
	Reopened  Settling = "reopened"  // it waits again
)

// Settled reports whether the thing waits for nobody.
func (d Decision) Settled() bool { return d.N > 0 && d.What != Reopened }

// maxWhy bounds what is said about a decision.
const maxWhy = 500

// Check reports, as an InputError, what a decision lacks.
func (d Decision) Check() error {
	switch d.What {
	case Accepted, Corrected:
		if d.Event.IsZero() || d.Job.IsZero() {
			return levelling.Bad("event", "missing: the event and the job that it became part of")
		}
	case PutAside, Reopened:
		if strings.TrimSpace(d.Why) == "" {
			return levelling.Bad("why", "missing: the reason, for whoever looks at it later")
		}
	default:
		return levelling.Bad("what", "accepted, corrected, set-aside or reopened")
	}
	if utf8.RuneCountInString(d.Why) > maxWhy {
		return levelling.Bad("why", fmt.Sprintf("at most %d characters", maxWhy))
	}
	return nil
}

// Same reports whether two decisions say the same; when is not part of that.
func (d Decision) Same(o Decision) bool {
	d.At, o.At = time.Time{}, time.Time{}
	return d == o
}

// Key names what is kept: two things that a device sent are one if they name the
// same job, have the same bytes, and are kept for the same reason. It lives and
// goes with the bytes.
func (q Quarantined) Key() Digest {
	h := sha256.New()
	fmt.Fprintf(h, "%s %q ", q.Job, PlainText(q.Reason))
	h.Write(q.Raw)
	return Digest(h.Sum(nil))
}

// PlainText leaves out what no text column takes; a reason may quote what was
// received.
func PlainText(s string) string {
	return strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\x00", "\uFFFD")
}
