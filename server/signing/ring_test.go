package signing_test

import (
	"crypto/rand"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"relevel/events/proof"
	"relevel/levelling"
	"relevel/server/signing"
)

var began = time.Date(2026, 3, 2, 4, 5, 6, 0, time.UTC)

func openRing(t *testing.T, path string) *signing.Ring {
	t.Helper()
	r, err := signing.OpenRing(path, "relevel.example", began, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func keysOf(t *testing.T, r *signing.Ring) []signing.Key {
	t.Helper()
	keys, err := r.Keys()
	if err != nil {
		t.Fatal(err)
	}
	return keys
}

// The first start makes a key, for this account alone; the next finds it.
func TestFirstKey(t *testing.T) {
	path := filepath.Join(t.TempDir(), "keys")
	first := keysOf(t, openRing(t, path))
	if len(first) != 1 || first[0].Secret == "" || !first[0].From.Equal(began) || !strings.HasPrefix(first[0].ID(), "relevel.example+") {
		t.Errorf("%+v", first)
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v, %v", info.Mode(), err)
	}
	if again := keysOf(t, openRing(t, path)); len(again) != 1 || again[0] != first[0] {
		t.Errorf("%+v, and then %+v", first, again)
	}
	left, err := filepath.Glob(filepath.Join(filepath.Dir(path), ".keys-*"))
	if err != nil || len(left) != 0 {
		t.Errorf("left lying: %q, %v", left, err)
	}
}

// Of servers that start at once on one folder all have the same key.
func TestFirstKeyAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "keys")
	ids := make([]string, 8)
	var all sync.WaitGroup
	for i := range ids {
		all.Go(func() {
			r, err := signing.OpenRing(path, "relevel.example", began, rand.Reader)
			if err != nil {
				t.Error(err)
				return
			}
			if keys, err := r.Keys(); err == nil && len(keys) == 1 {
				ids[i] = keys[0].ID()
			}
		})
	}
	all.Wait()
	for _, id := range ids {
		if id == "" || id != ids[0] {
			t.Errorf("keys %q", ids)
		}
	}
}

// A key is replaced while a server runs: both sign, then the new one alone, and the
// secret of the old one is gone.
func TestReplaceAKey(t *testing.T) {
	path := filepath.Join(t.TempDir(), "keys")
	server, desk := openRing(t, path), openRing(t, path)
	old := keysOf(t, server)[0]
	fresh, err := desk.Add("relevel.example", began.Add(time.Hour), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	if name, signers, err := server.Signers(); err != nil || len(signers) != 2 || name != "relevel.example" {
		t.Errorf("%d sign as %q, %v", len(signers), name, err)
	}
	retired, err := desk.Retire(old.ID(), began.Add(2*time.Hour))
	if err != nil || !retired.Until.Equal(began.Add(2*time.Hour)) {
		t.Fatalf("%+v, %v", retired, err)
	}
	if _, signers, err := server.Signers(); err != nil || len(signers) != 1 || proof.SignedBy(signers[0]).String() != fresh.ID() {
		t.Errorf("%d sign, %v", len(signers), err)
	}
	text, err := os.ReadFile(path)
	if err != nil || strings.Contains(string(text), old.Secret) || !strings.Contains(string(text), old.Verifier) {
		t.Errorf("%s, %v", text, err)
	}
	if again, err := desk.Retire(old.ID(), began.Add(9*time.Hour)); err != nil || again != retired {
		t.Errorf("retired once more: %+v, %v", again, err)
	}
	var bad *levelling.InputError
	if _, err := desk.Retire(fresh.ID(), began); !errors.As(err, &bad) {
		t.Errorf("the last one in use was retired: %v", err)
	}
	if _, err := desk.Retire("nothing", began); !errors.As(err, &bad) {
		t.Errorf("what is not there was retired: %v", err)
	}
}

// What is wrong with the file is said without its secrets.
func TestWrongFiles(t *testing.T) {
	path := filepath.Join(t.TempDir(), "keys")
	key := keysOf(t, openRing(t, path))[0]
	good, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"cut":              string(good[:len(good)-9]),
		"a broken secret":  strings.Replace(string(good), "PRIVATE+KEY+relevel", "PRIVATE+KEY+Relevel", 1),
		"retired, secret":  strings.Replace(string(good), " -\n", " 2026-03-02T04:05:06Z\n", 1),
		"public, in use":   strings.Replace(string(good), key.Secret, key.Verifier, 1),
		"something else":   "a line\n",
		"a day of its own": strings.Replace(string(good), "2026-03-02T04", "today T04", 1),
	} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := signing.Find(path)
		if err == nil || strings.Contains(err.Error(), key.Secret[len(key.Secret)-20:]) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := os.WriteFile(path, good, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(path, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := signing.Find(path); err == nil || !strings.Contains(err.Error(), "chmod 600") {
		t.Errorf("a file that others may read: %v", err)
	}
	if _, err := signing.Find(path + "-none"); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no file: %v", err)
	}
}
