package jobs_test

import (
	"bytes"
	"crypto/rand"
	"strings"
	"testing"

	"relevel/jobs"
)

func TestPairingCode(t *testing.T) {
	code, hash, err := jobs.NewPairingCode(rand.Reader)
	if err != nil || len(code) != 9 || code[4] != '-' || strings.ContainsAny(code, "0O1I") {
		t.Fatalf("%q, %v", code, err)
	}
	for _, typed := range []string{code, strings.ToLower(code), " " + strings.ReplaceAll(code, "-", " ") + " "} {
		if got, err := jobs.ParsePairingCode(typed); err != nil || got != hash {
			t.Errorf("%q typed as %q: %v", code, typed, err)
		}
	}
	for _, typed := range []string{"", "ABCD", "ABCD-EFG0", "ABCD-EFGHJ", "ABCD-EFÄ"} {
		if _, err := jobs.ParsePairingCode(typed); err == nil {
			t.Errorf("%q is taken for a code", typed)
		}
	}
	if _, _, err := jobs.NewPairingCode(bytes.NewReader(nil)); err == nil {
		t.Error("a code without randomness")
	}
}
