package bundle_test

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"testing"

	"relevel/jobs/bundle"
)

// A verifier holds the README of a bundle against its own, so what was handed out would
// hold no longer if a word of it changed: that takes another number of the schema.
func TestReadmeIsPartOfTheForm(t *testing.T) {
	text, err := os.ReadFile("readme.txt")
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(text)
	settled := map[int]string{1: "e10529f1351717bbd83fde6f54e83b68a7946124cf88a3accdc7738c8b5c1ee2"}
	if got := hex.EncodeToString(sum[:]); got != settled[bundle.Schema] {
		t.Errorf("the README of schema %d is %s, and bundles were written with %s", bundle.Schema, got, settled[bundle.Schema])
	}
}
