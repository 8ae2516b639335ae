package server_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// sessionOf signs in and returns what the browser keeps.
func sessionOf(t *testing.T, s *site, form url.Values) string {
	t.Helper()
	once := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	resp, err := once.Post(s.URL+"/enter", "application/x-www-form-urlencoded", strings.NewReader(form.Encode()))
	must(t, err)
	resp.Body.Close()
	for _, cookie := range resp.Cookies() {
		if cookie.Name == "relevel" {
			return cookie.Value
		}
	}
	t.Fatalf("no session: %d", resp.StatusCode)
	return ""
}
