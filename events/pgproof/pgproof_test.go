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
