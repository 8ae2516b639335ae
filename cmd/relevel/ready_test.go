package main

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
)

// readySays is a server that answers so to whoever asks whether it can work.
func readySays(t *testing.T, serve func(http.Handler) *httptest.Server, status int, body string) string {
	t.Helper()
	s := serve(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path != "/readyz" {
			status = http.StatusNotFound
		}
		w.WriteHeader(status)
		w.Write([]byte(body))
	}))
	t.Cleanup(s.Close)
	return s.URL
}

func runReady(t *testing.T, args ...string) (status int, stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	status = run(t.Context(), append([]string{"ready"}, args...), nil, strings.NewReader(""), &out, &errs)
	return status, out.String(), errs.String()
}

func TestReady(t *testing.T) {
	for name, c := range map[string]struct {
		serve  func(http.Handler) *httptest.Server
		path   string
		status int
		body   string
		want   int
		out    string
		err    string
	}{
		"OK":         {httptest.NewServer, "", 200, `{"ready":true,"checks":{"photos":"away","database":"ok"}}`, 0, "database  ok\nphotos    away\n", ""},
		"OKWhole":    {httptest.NewServer, "/readyz", 200, `{"ready":true,"checks":{}}`, 0, "", ""},
		"OKItsOwnCA": {httptest.NewTLSServer, "/", 200, `{"ready":true}`, 0, "", ""},
		"Away":       {httptest.NewServer, "", 503, `{"ready":false,"checks":{"database":"away"}}`, 1, "database  away\n", "cannot work"},
		"BehindOne":  {httptest.NewServer, "", 502, `{"ready":true}`, 1, "", "cannot work"},
		"Another":    {httptest.NewServer, "", 200, `<html>`, 1, "", "no server of ours"},
		"AnotherAPI": {httptest.NewServer, "", 200, `{"status":"ok"}`, 1, "", "no server of ours"},
	} {
		t.Run(name, func(t *testing.T) {
			status, out, errs := runReady(t, readySays(t, c.serve, c.status, c.body)+c.path)
			if status != c.want || out != c.out || !strings.Contains(errs, c.err) {
				t.Errorf("status %d, %q, %q; want %d, %q, %q", status, out, errs, c.want, c.out, c.err)
			}
		})
	}
}

// Nobody there is an error, and at once where nobody asked to wait.
func TestReadyNobody(t *testing.T) {
	s := httptest.NewServer(nil)
	s.Close()
	if status, out, errs := runReady(t, s.URL); status != exitFailed || out != "" || !strings.Contains(errs, "does not answer") {
		t.Errorf("status %d, %q, %q", status, out, errs)
	}
	for _, url := range []string{"127.0.0.1:8080", "ftp://127.0.0.1", "http://", "%"} {
		if status, _, errs := runReady(t, url); status != exitBadInput || !strings.Contains(errs, "URL: ") {
			t.Errorf("%s: status %d, %q", url, status, errs)
		}
	}
}

// Who waits is told as soon as the server can work.
func TestReadyWaits(t *testing.T) {
	var asked atomic.Int32
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		if asked.Add(1) < 3 {
			w.WriteHeader(http.StatusServiceUnavailable)
			w.Write([]byte(`{"ready":false,"checks":{"database":"away"}}`))
			return
		}
		w.Write([]byte(`{"ready":true,"checks":{"database":"ok"}}`))
	}))
	defer s.Close()
	if status, out, errs := runReady(t, "--wait", "60s", s.URL); status != exitOK || out != "database  ok\n" || errs != "" {
		t.Errorf("status %d, %q, %q", status, out, errs)
	}
}

// The program itself is asked, over its own certificate.
func TestReadyServe(t *testing.T) {
	p := launch(t, nil, "serve", "--listen", "127.0.0.1:0", "--tls", "--data", filepath.Join(openFolder(t), "data"))
	_, url, found := strings.Cut(strings.TrimSpace(p.line()), "serves at ")
	if !found {
		t.Fatalf("it greets otherwise; on standard error: %s", p.errs)
	}
	if status, out, errs := runReady(t, "--wait", "30s", url); status != exitOK || out != "database  ok\nphotos    ok\nschema    ok\n" || errs != "" {
		t.Errorf("status %d, %q, %q", status, out, errs)
	}
}
