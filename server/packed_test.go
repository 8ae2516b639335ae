package server

import (
	"compress/gzip"
	"crypto/sha256"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"
)

// A page that is known is not made again, one that says something else is, and each
// reads as it was written to whoever takes it packed or plain.
func TestPackedBefore(t *testing.T) {
	s := &Server{}
	for _, test := range []struct {
		says, takes string
		made        bool
	}{{"one", "gzip", true}, {"one", "gzip", false}, {"two", "gzip", true}, {"one", "gzip", false}, {"one", "identity", true}} {
		made := false
		got := httptest.NewRecorder()
		r := httptest.NewRequest("GET", "/", nil)
		r.Header.Set("Accept-Encoding", test.takes)
		compress(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			s.sendKnown(w, r, sha256.Sum256([]byte(test.says)), func() []byte { made = true; return []byte(test.says) })
		})).ServeHTTP(got, r)
		if plain := unpacked(t, got); plain != test.says || made != test.made {
			t.Errorf("%s for %s: %q, made: %t; %v", test.says, test.takes, plain, made, got.Header())
		}
	}
	s.packed.size = mostPacked
	s.packed.find(sha256.Sum256(nil), func() []byte { return []byte("another") })
	if len(s.packed.known) != 1 || s.packed.size >= mostPacked {
		t.Errorf("%d pages of %d bytes are kept after too many", len(s.packed.known), s.packed.size)
	}
}

func unpacked(t *testing.T, got *httptest.ResponseRecorder) string {
	t.Helper()
	if got.Header().Get("Content-Encoding") != "gzip" {
		return got.Body.String()
	}
	z, err := gzip.NewReader(got.Body)
	if err != nil {
		t.Fatal(err)
	}
	plain, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	return string(plain)
}
