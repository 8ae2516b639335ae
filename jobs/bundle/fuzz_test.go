package bundle_test

import (
	"strings"
	"testing"

	"relevel/jobs/bundle"
)

// Whatever somebody gives as public keys is read or refused, and what is refused is told
// in a line that a terminal can show.
func FuzzReadKeys(f *testing.F) {
	f.Add("relevel.example+4e4f4252+AUA4h5nD5yQ6nUTr0jVUOWrw1TmPnyHm8Jn9TkXTL2OY\n")
	f.Add("a+0+AQ== 2026-03-02T04:05:06Z -\n\n b")
	f.Add("\x1b[31m+\x00")
	f.Fuzz(func(t *testing.T, text string) {
		keys, err := bundle.ReadKeys(text)
		if err != nil && strings.ContainsFunc(err.Error(), func(c rune) bool { return c < ' ' }) {
			t.Errorf("%q", err)
		}
		if len(keys) > strings.Count(text, "\n")+1 {
			t.Errorf("%d keys", len(keys))
		}
	})
}
