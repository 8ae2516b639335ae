package server_test

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"strings"
	"testing"
)

// ask sends a request as a browser does that says what it takes.
func (b *browser) ask(path, takes string) *http.Response {
	b.t.Helper()
	r, err := http.NewRequestWithContext(b.t.Context(), "GET", b.site.URL+path, nil)
	must(b.t, err)
	r.Header.Set("Accept-Encoding", takes)
	resp, err := b.client.Do(r)
	must(b.t, err)
	b.t.Cleanup(func() { resp.Body.Close() })
	return resp
}

// A page comes compressed to whom it can, and reads the same.
func TestCompressed(t *testing.T) {
	b := newBrowser(t, newSite(t))
	waitListed(t, b.caller, 1)
	read := func(takes string) (plain []byte, sent int) {
		resp := b.ask("/people", takes)
		body, err := io.ReadAll(resp.Body)
		must(t, err)
		if resp.Header.Get("Vary") != "Accept-Encoding" && takes != "identity" && takes != "gzip;q=0" {
			t.Errorf("%q: Vary = %q", takes, resp.Header.Get("Vary"))
		}
		if resp.Header.Get("Content-Encoding") != "gzip" {
			return body, len(body)
		}
		z, err := gzip.NewReader(bytes.NewReader(body))
		must(t, err)
		plain, err = io.ReadAll(z)
		must(t, err)
		return plain, len(body)
	}
	_, whole := read("identity")
	for _, takes := range []string{"gzip", "br, gzip;q=0.5", "deflate,gzip"} {
		if plain, sent := read(takes); sent >= whole || !strings.HasSuffix(strings.TrimSpace(string(plain)), "</html>") {
			t.Errorf("%q: %d bytes of %d, ending %.40q", takes, sent, whole, plain)
		}
	}
	if _, sent := read("gzip;q=0"); sent != whole { // the ids of forms are as long as each other
		t.Errorf("%d bytes for one that does not take it, want all %d", sent, whole)
	}
	if got := b.ask("/static/nothing.css", "gzip"); got.StatusCode != 404 {
		t.Errorf("what is not there: status %d, want 404", got.StatusCode)
	}
}

// What goes on for ever, or is no text, is sent as it is.
func TestNotCompressed(t *testing.T) {
	b := newBrowser(t, newSite(t))
	for _, path := range []string{"/api/v1/live", "/api/v1/jobs", "/api/v1" + b.page("/live")} {
		if got := b.ask(path, "gzip"); got.StatusCode != 200 || got.Header.Get("Content-Encoding") != "" {
			t.Errorf("%s: status %d, Content-Encoding %q", path, got.StatusCode, got.Header.Get("Content-Encoding"))
		}
	}
}

// A phone with little signal has the events of a job, and what it carries along, in a
// fraction of their bytes; what it sends is answered as it is.
func TestCompressedForPhones(t *testing.T) {
	b := newBrowser(t, newSite(t))
	b.job = b.emptyJob("A long house")
	d := newDevice(t, b.job)
	var notes []string
	for range 40 {
		notes = append(notes, d.raw("note", `{"text":"The stump by the door is soft at the foot."}`))
	}
	b.caller.post(b.job, notes...)
	for _, path := range []string{"/jobs/" + b.job.String() + "/events", "/phone"} {
		ask := func(method, takes, tag string) (*http.Response, []byte) {
			r, err := http.NewRequestWithContext(t.Context(), method, b.site.URL+"/api/v1"+path, nil)
			must(t, err)
			r.Header.Set("Authorization", "Bearer "+b.caller.token)
			r.Header.Set("Accept-Encoding", takes)
			r.Header.Set("If-None-Match", tag)
			resp, err := http.DefaultTransport.RoundTrip(r)
			must(t, err)
			defer resp.Body.Close()
			body, err := io.ReadAll(resp.Body)
			must(t, err)
			return resp, body
		}
		_, plain := ask("GET", "identity", "")
		resp, packed := ask("GET", "gzip", "")
		z, err := gzip.NewReader(bytes.NewReader(packed))
		must(t, err)
		if same, err := io.ReadAll(z); err != nil || !bytes.Equal(same, plain) || resp.Header.Get("Vary") != "Accept-Encoding" || len(plain) < 2*len(packed) {
			t.Errorf("%s: %v, %d bytes of %d, %v", path, err, len(packed), len(plain), resp.Header)
		}
		if tag := resp.Header.Get("ETag"); tag != "" {
			if resp, body := ask("GET", "gzip", tag); resp.StatusCode != http.StatusNotModified || len(body) > 0 {
				t.Errorf("%s: what a phone has is answered %d with %d bytes", path, resp.StatusCode, len(body))
			}
		}
	}
}
