package signing_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"relevel/server/signing"
)

// Whatever stands in the file of keys, it is read or refused without any of it being
// told, and it stays as it is.
func FuzzRing(f *testing.F) {
	path := filepath.Join(f.TempDir(), "keys")
	made, err := signing.OpenRing(path, "relevel.example", began, zeros{})
	if err != nil {
		f.Fatal(err)
	}
	keys, err := made.Keys()
	if err != nil || len(keys) != 1 {
		f.Fatal(err)
	}
	good, err := os.ReadFile(path)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(good))
	f.Add(strings.Replace(string(good), "+", "-", 1))
	f.Add(strings.Repeat(string(good), 2))
	f.Add("PRIVATE+KEY+a+b+c\n")
	f.Add("PRIVATE+KEY+relevel.example+00000000+AQ== 2026-03-02T04:05:06Z -\n")
	f.Add(keys[0].Verifier + " 2026-03-02T04:05:06Z 2026-03-03T04:05:06Z\n")
	f.Fuzz(func(t *testing.T, text string) {
		path := filepath.Join(t.TempDir(), "keys")
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := signing.OpenRing(path, "relevel.example", began, zeros{}); err != nil {
			for line := range strings.Lines(text) {
				if _, secret, is := strings.Cut(line, "PRIVATE+KEY+"); is && len(secret) > 12 && strings.Contains(err.Error(), strings.TrimSpace(secret)) {
					t.Errorf("the error tells a secret: %v", err)
				}
			}
		}
		after, err := os.ReadFile(path)
		if err != nil || text != "" && string(after) != text {
			t.Errorf("the file was changed: %v %q", err, after)
		}
	})
}

// zeros is randomness of which nobody expects any.
type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }
