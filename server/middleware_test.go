package server_test

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/jobstest"
	"relevel/server"
)

// do sends a request outside the API, or one that needs no token.
func (s *site) do(method, path string, headers ...string) answer {
	s.t.Helper()
	c := caller{t: s.t, url: s.URL}
	r, err := c.request(s.t.Context(), method, "", nil, headers...)
	must(s.t, err)
	r.URL.Path = path
	if r.Header.Get("Authorization") == "Bearer " {
		r.Header.Del("Authorization")
	}
	resp, err := http.DefaultTransport.RoundTrip(r)
	must(s.t, err)
	defer resp.Body.Close()
	a := answer{status: resp.StatusCode, header: resp.Header}
	must(s.t, json.NewDecoder(resp.Body).Decode((*json.RawMessage)(&a.body)))
	return a
}

func TestNothingThere(t *testing.T) {
	s := newSite(t)
	c := s.firm("Level Best")
	for _, path := range []string{"/nothing", "/jobs/" + newID(t).String(), "/jobs/not-an-id", "/jobs/00000000-0000-0000-0000-000000000000/state", "/calc/nothing/at/all"} {
		c.send("GET", path, nil).problem(t, 404, "")
	}
	c.send("POST", "/calc/nothing", []byte(`{}`)).problem(t, 404, "")
	s.do("GET", "/nowhere").problem(t, 404, "")
}

func TestWrongMethod(t *testing.T) {
	c := newSite(t).firm("Level Best")
	c.send("DELETE", "/jobs", nil).problem(t, 405, "")
	c.send("PUT", "/jobs/"+c.newJob().String()+"/events", nil).problem(t, 405, "")
	c.send("POST", "/photos/"+sha(nil), nil).problem(t, 405, "")
}

func TestHeaders(t *testing.T) {
	a := newSite(t).firm("Level Best").send("GET", "/jobs", nil).want(t, 200, nil)
	wantHeader(t, a, "Content-Type", "application/json")
	wantHeader(t, a, "X-Content-Type-Options", "nosniff")
	wantHeader(t, a, "X-Frame-Options", "DENY")
	wantHeader(t, a, "Referrer-Policy", "no-referrer")
	wantHeader(t, a, "Cache-Control", "no-store")
	wantHeader(t, a, "Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
	if len(a.header.Get("X-Request-Id")) != 16 {
		t.Errorf("X-Request-Id = %q", a.header.Get("X-Request-Id"))
	}
}

// One line a request, and no secret in it.
func TestLogLine(t *testing.T) {
	s := newSite(t)
	c := s.firm("Level Best")
	a := c.send("GET", "/jobs?note=canary", nil).want(t, 200, nil)
	c.send("GET", "/jobs", nil, "Authorization", "Bearer "+c.token+"canary").problem(t, 401, "")
	s.Server.Close() // the line is written after the answer
	log := s.log.String()
	if strings.Contains(log, "canary") || strings.Contains(log, c.token) {
		t.Errorf("a secret is in the log:\n%s", log)
	}
	id := a.header.Get("X-Request-Id")
	lines := 0
	for line := range strings.Lines(log) {
		if strings.Contains(line, id) && strings.Contains(line, `"msg":"request"`) {
			lines++
			if !strings.Contains(line, `"path":"/api/v1/jobs","status":200`) {
				t.Errorf("the line is %s", line)
			}
		}
	}
	if lines != 1 {
		t.Errorf("%d lines about the request, want 1:\n%s", lines, log)
	}
}

// brokenStore panics where a bug would.
type brokenStore struct{ jobs.Store }

func (brokenStore) ListPeople(context.Context, events.ID) ([]jobs.Person, error) { panic("a bug") }
func (brokenStore) ListCrews(context.Context, events.ID) ([]jobs.Crew, error) {
	return nil, errors.New("canary: relation does not exist")
}

func TestInternalError(t *testing.T) {
	s := newSite(t, func(c *server.Config) { c.Store = brokenStore{c.Store} })
	c := s.firm("Level Best")
	for path, inLog := range map[string]string{"/people": "a bug", "/crews": "canary"} {
		p := c.send("GET", path, nil).problem(t, 500, "")
		if strings.Contains(p.Detail, inLog) {
			t.Errorf("the answer shows what went wrong inside: %s", p.Detail)
		}
		found := false
		for line := range strings.Lines(s.log.String()) {
			found = found || strings.Contains(line, inLog) && strings.Contains(line, p.RequestID)
		}
		if !found {
			t.Errorf("%q is not in the log under %s", inLog, p.RequestID)
		}
	}
	c.send("GET", "/jobs", nil).want(t, 200, nil)
}

func TestRateLimit(t *testing.T) {
	s := newSite(t, func(c *server.Config) { c.Limits.Rate, c.Limits.Burst = 0.001, 3 })
	c, other := s.firm("Level Best"), s.firm("Plumb & Sons")
	c.send("GET", "/jobs", nil).want(t, 200, nil) // counts for the address
	for range 3 {
		c.send("GET", "/jobs", nil).want(t, 200, nil)
	}
	a := c.send("GET", "/jobs", nil)
	a.problem(t, 429, "")
	if a.header.Get("Retry-After") == "" {
		t.Error("no Retry-After")
	}
	// Another token from the same address has its own measure.
	for range 4 {
		other.send("GET", "/jobs", nil).want(t, 200, nil)
	}
	// What has no valid token shares that of the address, whatever it makes up.
	c.send("GET", "/jobs", nil, "Authorization", "Bearer "+c.token[:len(c.token)-4]+"0000").problem(t, 401, "")
	c.send("GET", "/jobs", nil, "Authorization", "Bearer "+c.token[:len(c.token)-4]+"0001").problem(t, 429, "")
}

// An office with several phones behind one address, all of them coming back at
// once with a day's events, is not held up.
func TestRateLimitGenerous(t *testing.T) {
	c := newSite(t).firm("Level Best")
	for range 500 {
		c.send("GET", "/calc", nil).want(t, 200, nil)
	}
}

func TestCrossOrigin(t *testing.T) {
	c := newSite(t).firm("Level Best")
	body := []byte(`{"name":"North"}`)
	c.send("POST", "/crews", body, "Sec-Fetch-Site", "cross-site").problem(t, 403, "")
	c.send("POST", "/crews", body, "Origin", "https://elsewhere.example").problem(t, 403, "")
	c.send("POST", "/crews", body, "Sec-Fetch-Site", "same-origin").want(t, 201, nil)
	c.send("GET", "/crews", nil, "Sec-Fetch-Site", "cross-site").want(t, 200, nil)
}

func TestCookie(t *testing.T) {
	s := newSite(t)
	c := s.firm("Level Best")
	session := sessionOf(t, s, url.Values{"token": {c.token}})
	c.send("GET", "/jobs", nil, "Authorization", "", "Cookie", "relevel="+session).want(t, 200, nil)
	c.send("GET", "/jobs", nil, "Authorization", "", "Cookie", "__Host-relevel="+session).problem(t, 401, "")
	https := []string{"Authorization", "", "X-Forwarded-Proto", "https", "Cookie"}
	c.send("GET", "/jobs", nil, append(https, "__Host-relevel="+session)...).want(t, 200, nil)
	c.send("GET", "/jobs", nil, append(https, "relevel="+session)...).problem(t, 401, "")
	// A header that is wrong is not made good by a cookie, and neither is the other.
	c.send("GET", "/jobs", nil, "Authorization", "Bearer wrong", "Cookie", "relevel="+session).problem(t, 401, "")
	c.send("GET", "/jobs", nil, "Authorization", "", "Cookie", "relevel="+c.token).problem(t, 401, "")
	c.send("GET", "/jobs", nil, "Authorization", "Bearer "+session).problem(t, 401, "")
}

// A token is looked up rarely, and a revoked one works for 30 s at most.
func TestTokenRevoked(t *testing.T) {
	var lookups atomic.Int64
	store := jobstest.NewMemory()
	store.Fail = func(call string) error {
		if call == "FindToken" {
			lookups.Add(1)
		}
		return nil
	}
	var now atomic.Int64
	now.Store(time.Now().UnixNano())
	s := newSite(t, func(c *server.Config) {
		c.Store = store
		c.Now = func() time.Time { return time.Unix(0, now.Load()) }
	})
	c := newFirm(t, store, s.URL, "Level Best")
	for range 5 {
		c.get("/jobs", nil)
	}
	if n := lookups.Load(); n != 1 {
		t.Errorf("%d look-ups for five requests, want 1", n)
	}
	_, hash, err := jobs.ParseToken(c.token)
	must(t, err)
	token, err := store.FindToken(t.Context(), c.firm, hash)
	must(t, err)
	must(t, store.RevokeToken(t.Context(), c.firm, token.ID, time.Now()))
	now.Add(int64(30 * time.Second))
	c.send("GET", "/jobs", nil).problem(t, 401, "")
}

// A sender that dawdles does not hold a place for ever.
func TestSlowBody(t *testing.T) {
	s := newSite(t, func(c *server.Config) { c.Limits.Timeout = 200 * time.Millisecond })
	c := s.firm("Level Best")
	r, err := c.request(t.Context(), "POST", "/jobs/"+newID(t).String()+"/events", nil)
	must(t, err)
	r.Body, r.ContentLength = dawdle{}, -1
	began := time.Now()
	resp, err := http.DefaultClient.Do(r)
	if err == nil {
		resp.Body.Close()
		if resp.StatusCode != http.StatusRequestTimeout {
			t.Errorf("status %d, want 408", resp.StatusCode)
		}
	}
	if waited := time.Since(began); waited > 5*time.Second {
		t.Errorf("it was waited for %v", waited)
	}
}

// dawdle is a body of which a byte comes now and then.
type dawdle struct{}

func (dawdle) Read(b []byte) (int, error) {
	time.Sleep(50 * time.Millisecond)
	b[0] = ' '
	return 1, nil
}

func (dawdle) Close() error { return nil }

func TestHealth(t *testing.T) {
	away := errors.New("canary: no route to host")
	var database, objects error
	s := newSite(t, func(c *server.Config) {
		c.Checks = []server.Check{
			{Name: "database", Needed: true, Run: func(context.Context) error { return database }},
			{Name: "objects", Run: func(context.Context) error { return objects }},
		}
	})
	want := func(status int, text string) {
		t.Helper()
		a := s.do("GET", "/readyz").want(t, status, nil)
		if got := strings.TrimSpace(string(a.body)); got != text {
			t.Errorf("readyz = %s, want %s", got, text)
		}
	}
	want(200, `{"checks":{"database":"ok","objects":"ok"},"ready":true}`)
	objects = away
	want(200, `{"checks":{"database":"ok","objects":"away"},"ready":true}`)
	database = away
	want(503, `{"checks":{"database":"away","objects":"away"},"ready":false}`)
	a := s.do("GET", "/healthz").want(t, 200, nil)
	if got := strings.TrimSpace(string(a.body)); got != `{"status":"ok","version":"test"}` {
		t.Errorf("healthz = %s", got)
	}
}
