package events

import (
	"context"
	"errors"
	"fmt"
)

// Restorer puts records back into a log as another log had them: under their numbers,
// times and salts, so that what was signed of that log holds of this one.
type Restorer interface {
	// Restore adds records that follow one another. Those that the job's log has
	// already must have the same leaves, and those it has not must follow its last
	// one; otherwise nothing is stored and it is ErrConflict. What was erased in
	// either log stays erased. It is durable on return, and may be repeated.
	Restore(ctx context.Context, firm, job ID, records []Stored) (Head, error)
}

// Continue decides what a restore adds to a log of this head, whose leaves from the
// first of the records on are known. It checks that each record gives its leaf; of
// one that was erased there is only its word.
func Continue(head Head, firm, job ID, known []Hash, records []Stored) (Arranged, error) {
	a := Arranged{Receipt: Receipt{Head: head}}
	for i, r := range records {
		if err := r.sealed(firm, job); err != nil {
			return Arranged{}, err
		}
		at := &a.Receipt.Head
		switch {
		case i > 0 && r.Seq != records[i-1].Seq+1, r.Seq > at.Seq+1:
			return Arranged{}, fmt.Errorf("record %d does not follow: %w", r.Seq, ErrConflict)
		case r.Seq <= at.Seq && (i >= len(known) || known[i] != r.Leaf):
			return Arranged{}, fmt.Errorf("record %d is another here: %w", r.Seq, ErrConflict)
		case r.Seq <= at.Seq:
			continue
		}
		at.Frontier = at.Frontier.Grow(at.Seq, r.Leaf)
		at.Root, at.Seq = at.Frontier.Root(), r.Seq
		a.New = append(a.New, r)
	}
	return a, nil
}

var errUnsealed = errors.New("it does not give its leaf")

// sealed checks that a record gives its leaf.
func (s Stored) sealed(firm, job ID) error {
	if s.Erased {
		return nil
	}
	leaf := Leaf{Firm: firm, Job: job, Seq: s.Seq, ID: s.ID, Kind: s.Kind, RecordedAt: s.RecordedAt, Commitment: Commit(s.Salt, s.Raw)}
	if leaf.Hash() != s.Leaf || len(s.Salt) != len(Salt{}) {
		return fmt.Errorf("record %d: %w", s.Seq, errUnsealed)
	}
	return nil
}
