package server

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// A large page that says the same is not packed again, one that says something else is,
// and each reads as it was written.
func TestPackedBefore(t *testing.T) {
	s := &Server{}
	row := "<tr><td>Karaka Road</td></tr>\n"
	page := strings.Repeat(row, largePage/len(row)+1)
	for _, test := range []struct {
		page string
		kept int
	}{{page, 1}, {page, 1}, {page + "one more", 2}, {"a short page", 2}, {page, 2}} {
		got := httptest.NewRecorder()
		r := httptest.NewRequest("GET", "/", nil)
		r.Header.Set("Accept-Encoding", "gzip")
		s.compress(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { sendPage(w, http.StatusAccepted, []byte(test.page)) })).ServeHTTP(got, r)
		read := io.Reader(got.Body)
		if got.Header().Get("Content-Encoding") == "gzip" {
			z, err := gzip.NewReader(bytes.NewReader(got.Body.Bytes()))
			if err != nil {
				t.Fatal(err)
			}
			read = z
		}
		plain, err := io.ReadAll(read)
		if err != nil {
			t.Fatal(err)
		}
		if string(plain) != test.page || got.Code != http.StatusAccepted || got.Header().Get("Vary") != "Accept-Encoding" {
			t.Errorf("status %d, %v, %d bytes: want the page of %d", got.Code, got.Header(), len(plain), len(test.page))
		}
		if len(s.packed.known) != test.kept {
			t.Errorf("%d pages are kept, want %d", len(s.packed.known), test.kept)
		}
	}
	s.packed.size = mostPacked
	s.packed.pack([]byte("another"))
	if len(s.packed.known) != 1 || s.packed.size >= mostPacked {
		t.Errorf("%d pages of %d bytes are kept after too many", len(s.packed.known), s.packed.size)
	}
}
