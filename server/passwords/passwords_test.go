package passwords

import (
	"encoding/hex"
	"errors"
	"sync"
	"testing"

	"golang.org/x/crypto/argon2"

	"relevel/events"
	"relevel/jobs"
)

// hashOf makes what is kept of a password.
func hashOf(t *testing.T, h *Hasher, password string, salt jobs.Salt) string {
	t.Helper()
	text, err := h.Hash(t.Context(), password, salt)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func TestMatch(t *testing.T) {
	h := New(2)
	one, other := jobs.Salt{1}, jobs.Salt{2}
	right, wrong := hashOf(t, h, "four words do well", one), hashOf(t, h, "four words do ill", one)
	salted := hashOf(t, h, "four words do well", other)
	for name, test := range map[string]struct {
		hashes []string
		want   []bool
		work   int64
	}{
		"right":          {[]string{right}, []bool{true}, 1},
		"wrong":          {[]string{wrong}, []bool{false}, 1},
		"nobody":         {nil, []bool{}, 1},
		"passkeys alone": {[]string{""}, []bool{false}, 1},
		"two firms":      {[]string{wrong, right}, []bool{false, true}, 1},
		"two salts":      {[]string{salted, right}, []bool{true, true}, 2},
		"nonsense":       {[]string{"$argon2id$v=19$m=1$a$b"}, []bool{false}, 1},
	} {
		before := h.Done()
		got, err := h.Match(t.Context(), "four words do well", test.hashes)
		if err != nil {
			t.Fatal(err)
		}
		for i := range test.want {
			if got[i] != test.want[i] {
				t.Errorf("%s: %v, want %v", name, got, test.want)
			}
		}
		if work := h.Done() - before; work != test.work {
			t.Errorf("%s: %d hashes, want %d", name, work, test.work)
		}
	}
}

// An accent that is a sign of its own, as some keyboards send it, is the same letter.
func TestAccents(t *testing.T) {
	h := New(1)
	got, err := h.Match(t.Context(), "cafe\u0301 at the corner", []string{hashOf(t, h, "caf\u00e9 at the corner", jobs.Salt{1})})
	if err != nil || !got[0] {
		t.Errorf("%v %v", got, err)
	}
}

// What other settings made still opens.
func TestOtherSettings(t *testing.T) {
	salt := jobs.Salt{3}
	old := kept{cost{memory: 64, passes: 1, lanes: 1}, salt, argon2.IDKey([]byte("four words do well"), salt[:], 1, 64, 1, keyBytes)}.String()
	got, err := New(1).Match(t.Context(), "four words do well", []string{old})
	if err != nil || !got[0] {
		t.Errorf("%v %v", got, err)
	}
}

// The package reckons what the reference implementation does, by the vector that its
// authors took over from there.
func TestReference(t *testing.T) {
	// golang.org/x/crypto/argon2, argon2_test.go: argon2id, time 2, memory 64, one lane.
	want := "068d62b26455936aa6ebe60060b0a65870dbfa3ddf8d41f7"
	if got := hex.EncodeToString(argon2.IDKey([]byte("password"), []byte("somesalt"), 2, 64, 1, 24)); got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// Who comes when the line is full is sent away, and the rest are served.
func TestTooMany(t *testing.T) {
	h := New(1)
	var all sync.WaitGroup
	var mu sync.Mutex
	served, refused := 0, 0
	for range 40 {
		all.Go(func() {
			_, err := h.Hash(t.Context(), "four words do well", jobs.Salt{1})
			mu.Lock()
			defer mu.Unlock()
			switch {
			case err == nil:
				served++
			case errors.Is(err, events.ErrUnavailable):
				refused++
			default:
				t.Error(err)
			}
		})
	}
	all.Wait()
	if served < 9 || refused == 0 || served+refused != 40 {
		t.Errorf("%d served and %d refused", served, refused)
	}
}
