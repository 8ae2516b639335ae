package server_test

import (
	"crypto/tls"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"relevel/server"
)

// Where the server signs for itself, nothing but the way to trust it is had over
// plain http; over TLS everything is.
func TestOnlyTrustOverPlainHTTP(t *testing.T) {
	s := newSite(t, func(c *server.Config) { c.Root = []byte("der") })
	plain := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	get := func(path string) (int, string, http.Header) {
		resp, err := plain.Get(s.URL + path)
		must(t, err)
		defer resp.Body.Close()
		body, err := io.ReadAll(resp.Body)
		must(t, err)
		return resp.StatusCode, string(body), resp.Header
	}
	if status, body, _ := get("/trust"); status != 200 || !strings.Contains(body, "Over plain http nothing is recorded here") || !strings.Contains(body, `href="/root.crt"`) || !strings.Contains(body, `<a href="https://`+strings.TrimPrefix(s.URL, "http://")+`/phone/">record over https</a>`) {
		t.Errorf("/trust: %d %s", status, body)
	}
	if status, body, header := get("/root.crt"); status != 200 || body != "der" || header.Get("Content-Type") != "application/x-x509-ca-cert" {
		t.Errorf("/root.crt: %d %q %v", status, body, header)
	}
	for _, path := range []string{"/", "/enter", "/pair", "/people", "/phone/", "/phone/app.js"} {
		if status, _, header := get(path); status != http.StatusSeeOther || header.Get("Location") != "/trust" {
			t.Errorf("%s: %d to %q", path, status, header.Get("Location"))
		}
	}
	if status, body, _ := get("/api/v1/jobs"); status != http.StatusForbidden || !strings.Contains(body, "/trust") {
		t.Errorf("the API: %d %s", status, body)
	}
	resp, err := plain.Post(s.URL+"/enter", "application/x-www-form-urlencoded", strings.NewReader("token=rl_"))
	must(t, err)
	resp.Body.Close()
	if resp.StatusCode != http.StatusForbidden {
		t.Errorf("an access sent in the clear: %d", resp.StatusCode)
	}

	over := httptest.NewUnstartedServer(s.app)
	over.TLS = &tls.Config{}
	over.StartTLS()
	defer over.Close()
	resp, err = over.Client().Get(over.URL + "/enter")
	must(t, err)
	defer resp.Body.Close()
	if body, _ := io.ReadAll(resp.Body); resp.StatusCode != 200 || !strings.Contains(string(body), "E-mail address") {
		t.Errorf("over TLS: %d", resp.StatusCode)
	}
}

// A server whose certificate comes from elsewhere has no root to give.
func TestNoRoot(t *testing.T) {
	b := newBrowser(t, newSite(t))
	says(t, b.get("/trust"), "This server has no root of its own")
	resp, err := http.Get(b.site.URL + "/root.crt")
	must(t, err)
	resp.Body.Close()
	if resp.StatusCode != 404 {
		t.Errorf("/root.crt: %d", resp.StatusCode)
	}
}
