package prooftest_test

import (
	"testing"

	"relevel/events/proof"
	"relevel/events/proof/prooftest"
)

func TestMemory(t *testing.T) {
	prooftest.Store(t, func(*testing.T) proof.Store { return prooftest.NewMemory() })
}
