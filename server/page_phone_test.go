package server_test

import (
	"crypto/sha256"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"testing/fstest"

	"relevel/server"
	"relevel/server/web"
)

// phoneFiles is an app as its build leaves it.
func phoneFiles() fstest.MapFS {
	files := fstest.MapFS{}
	for name, text := range map[string]string{
		"index.html": "<!doctype html>", "app.js": "plain script", "app.js.br": "packed script", "app.js.map": "a map",
		"app.css": "p{}", "relevel.wasm": "plain wasm", "relevel.wasm.br": "packed wasm",
		"sw.js": "a worker", "manifest.webmanifest": "{}", "icon-192.png": "a picture",
	} {
		files[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return files
}

func phoneSite(t *testing.T) *site {
	t.Helper()
	app, err := web.ReadPhoneApp(phoneFiles())
	must(t, err)
	return newSite(t, func(c *server.Config) { c.Phone = app })
}

// file asks for a file as a browser does, without following or unpacking anything.
func (s *site) file(method, path string, headers ...string) answer {
	s.t.Helper()
	r, err := http.NewRequestWithContext(s.t.Context(), method, s.URL+path, nil)
	must(s.t, err)
	r.Header.Set("Accept-Encoding", "identity")
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	resp, err := http.DefaultTransport.RoundTrip(r)
	must(s.t, err)
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	must(s.t, err)
	return answer{resp.StatusCode, resp.Header, body}
}

func (a answer) wantBody(t *testing.T, status int, body string) answer {
	t.Helper()
	if a.status != status || string(a.body) != body {
		t.Errorf("%d %q, want %d %q", a.status, a.body, status, body)
	}
	return a
}

// Each file is sent as what it is, its packed copy to whoever takes it, and under
// the rules of the app alone.
func TestPhoneAppFiles(t *testing.T) {
	s := phoneSite(t)
	for name, want := range map[string]struct{ media, text string }{
		"":                     {"text/html; charset=utf-8", "<!doctype html>"},
		"index.html":           {"text/html; charset=utf-8", "<!doctype html>"},
		"app.js":               {"text/javascript; charset=utf-8", "plain script"},
		"app.css":              {"text/css; charset=utf-8", "p{}"},
		"sw.js":                {"text/javascript; charset=utf-8", "a worker"},
		"relevel.wasm":         {"application/wasm", "plain wasm"},
		"manifest.webmanifest": {"application/manifest+json", "{}"},
		"icon-192.png":         {"image/png", "a picture"},
	} {
		a := s.file("GET", "/phone/"+name).wantBody(t, 200, want.text)
		wantHeader(t, a, "Content-Type", want.media)
		wantHeader(t, a, "Cache-Control", "no-cache")
		wantHeader(t, a, "Permissions-Policy", "camera=(self), microphone=(self), screen-wake-lock=(self), geolocation=(), display-capture=(), payment=(), usb=()")
		wantHeader(t, a, "ETag", fmt.Sprintf(`"%x"`, sha256.Sum256([]byte(want.text))))
		if policy := a.header.Get("Content-Security-Policy"); !strings.HasPrefix(policy, "default-src 'none'; script-src 'self' 'wasm-unsafe-eval';") {
			t.Errorf("%s: %s", name, policy)
		}
	}
	a := s.file("GET", "/phone")
	if a.status != http.StatusSeeOther || a.header.Get("Location") != "/phone/" {
		t.Errorf("/phone: %d to %q", a.status, a.header.Get("Location"))
	}
	if other := s.file("GET", "/enter"); strings.Contains(other.header.Get("Content-Security-Policy"), "wasm") || !strings.HasPrefix(other.header.Get("Permissions-Policy"), "camera=(), microphone=()") {
		t.Errorf("another page is under the rules of the app: %v", other.header)
	}
}

func TestPhoneAppPacked(t *testing.T) {
	s := phoneSite(t)
	for accept, packed := range map[string]bool{
		"gzip, deflate, br, zstd": true, "br;q=0.5": true, "BR ; q=1.0, gzip": true,
		"": false, "gzip": false, "br;q=0": false, "gzip, br; q=0.000": false, "brotli": false, "identity;q=1, *;q=0": false,
	} {
		a, want := s.file("GET", "/phone/app.js", "Accept-Encoding", accept), "plain script"
		if packed {
			want = "packed script"
			wantHeader(t, a, "Content-Encoding", "br")
			wantHeader(t, a, "Content-Length", fmt.Sprint(len(want)))
		}
		a.wantBody(t, 200, want)
		wantHeader(t, a, "Vary", "Accept-Encoding")
		wantHeader(t, a, "Content-Type", "text/javascript; charset=utf-8")
	}
	a := s.file("GET", "/phone/sw.js", "Accept-Encoding", "br").wantBody(t, 200, "a worker")
	if a.header.Get("Content-Encoding") != "" || a.header.Get("Vary") != "" {
		t.Errorf("without a packed copy: %v", a.header)
	}
}

// What a browser has already is not sent again, in neither form, and a HEAD says
// what a GET would.
func TestPhoneAppUnchanged(t *testing.T) {
	s := phoneSite(t)
	for _, accept := range []string{"identity", "br"} {
		a := s.file("GET", "/phone/relevel.wasm", "Accept-Encoding", accept)
		tag := a.header.Get("ETag")
		s.file("GET", "/phone/relevel.wasm", "Accept-Encoding", accept, "If-None-Match", `"other", `+tag).wantBody(t, 304, "")
		s.file("GET", "/phone/relevel.wasm", "Accept-Encoding", accept, "If-None-Match", `"other"`).wantBody(t, 200, string(a.body))
		head := s.file("HEAD", "/phone/relevel.wasm", "Accept-Encoding", accept).wantBody(t, 200, "")
		wantHeader(t, head, "ETag", tag)
		wantHeader(t, head, "Content-Length", fmt.Sprint(len(a.body)))
	}
	if s.file("GET", "/phone/relevel.wasm").header.Get("ETag") == s.file("GET", "/phone/relevel.wasm", "Accept-Encoding", "br").header.Get("ETag") {
		t.Error("two sets of bytes have one ETag")
	}
}

func TestPhoneAppNothingElse(t *testing.T) {
	s := phoneSite(t)
	for _, path := range []string{"/phone/app.js.br", "/phone/app.js.map", "/phone/nothing.js", "/phone/index.html/", "/phone/README"} {
		if a := s.file("GET", path); a.status != 404 || strings.Contains(a.header.Get("Content-Security-Policy"), "wasm") {
			t.Errorf("%s: %d %s", path, a.status, a.body)
		}
	}
	if a := s.file("POST", "/phone/"); a.status != 405 {
		t.Errorf("POST: %d", a.status)
	}
}

func TestPhoneAppNotBuilt(t *testing.T) {
	none, err := web.ReadPhoneApp(fstest.MapFS{"README": {Data: []byte("nothing was built")}})
	must(t, err)
	s := newSite(t, func(c *server.Config) { c.Phone = none })
	a := s.file("GET", "/phone/", "Accept", "text/html")
	if a.status != 404 || !strings.Contains(string(a.body), "<code>make build</code>") || !strings.Contains(string(a.body), "<header>") {
		t.Errorf("%d %s", a.status, a.body)
	}
	if a := s.file("GET", "/phone/app.js"); a.status != 404 {
		t.Errorf("a file of no app: %d", a.status)
	}
}

// A crew that opens the app behind one address, each phone with all of its files at
// once, is not held up.
func TestPhoneAppAtOnce(t *testing.T) {
	s := phoneSite(t)
	for range 20 {
		for name := range phoneFiles() {
			if a := s.file("GET", "/phone/"+name); a.status == http.StatusTooManyRequests {
				t.Fatalf("%s: %d", name, a.status)
			}
		}
	}
}
