package pgproof_test

import (
	"testing"

	"relevel/events/pgdb/pgtest"
	"relevel/events/pgproof"
	"relevel/events/proof"
	"relevel/events/proof/prooftest"
)

func TestStore(t *testing.T) {
	db := pgtest.New(t)
	prooftest.Store(t, func(*testing.T) proof.Store { return pgproof.New(db.App) })
}

// The suite holds where every transaction is run twice.
func TestLosing(t *testing.T) {
	l := pgtest.NewLosing(t, pgtest.New(t))
	prooftest.Store(t, func(*testing.T) proof.Store { return pgproof.New(l.App) })
	if l.Lost() < 10 {
		t.Errorf("%d transactions lost: nothing was tested", l.Lost())
	}
}
