package server_test

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"relevel/server"
	"relevel/server/watch"
)

// tally is a watch.Meter that keeps what it was told.
type tally struct {
	watch.Unmetered
	mu       sync.Mutex
	begun    int
	answers  []watch.Answer
	appends  []watch.Append
	apart    int
	refolds  int
	panicked []string
	tried    []string
}

func (m *tally) add(f func()) {
	m.mu.Lock()
	defer m.mu.Unlock()
	f()
}

func (m *tally) Began()                  { m.add(func() { m.begun++ }) }
func (m *tally) Answered(a watch.Answer) { m.add(func() { m.answers = append(m.answers, a) }) }
func (m *tally) Appended(a watch.Append) { m.add(func() { m.appends = append(m.appends, a) }) }
func (m *tally) Quarantined()            { m.add(func() { m.apart++ }) }
func (m *tally) Refolded(int)            { m.add(func() { m.refolds++ }) }
func (m *tally) Panicked(in string)      { m.add(func() { m.panicked = append(m.panicked, in) }) }
func (m *tally) Tried(kind string, end watch.Outcome, _ time.Duration) {
	m.add(func() { m.tried = append(m.tried, kind+" "+string(end)) })
}

// last is the last answer of a route. An answer is counted when it is over, which may be
// after its reader has it.
func (m *tally) last(t *testing.T, route string) (found watch.Answer) {
	t.Helper()
	eventually(t, func() bool {
		m.mu.Lock()
		defer m.mu.Unlock()
		for _, a := range m.answers {
			if a.Route == route {
				found = a
			}
		}
		return found.Route != ""
	})
	return found
}

// eventually waits until something holds.
func eventually(t *testing.T, holds func() bool) {
	t.Helper()
	for end := time.Now().Add(time.Minute); !holds(); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("it never came to be")
		}
	}
}

// told returns the line of a request in the log.
func (s *site) told(id string) (line map[string]any) {
	s.t.Helper()
	eventually(s.t, func() bool {
		lines := bufio.NewScanner(strings.NewReader(s.log.String()))
		lines.Buffer(nil, 1<<20)
		for lines.Scan() {
			one := map[string]any{}
			if json.Unmarshal(lines.Bytes(), &one) == nil && one["request"] == id && one["msg"] == "request" {
				line = one
			}
		}
		return line != nil
	})
	return line
}

// A request is counted by the pattern of its address, and its line says of which firm
// and job it was, in ids.
func TestRequestIsWatched(t *testing.T) {
	m := &tally{}
	s := newSite(t, func(c *server.Config) { c.Meter = m })
	c := s.firm("Level Best")
	job := c.newJob()
	a := c.send("GET", "/jobs/"+job.String()+"/state?as_of=0", nil).want(t, 200, nil)
	line := s.told(a.header.Get("X-Request-Id"))
	want := map[string]any{"firm": c.firm.String(), "job": job.String(), "route": "/api/v1/jobs/{job}/state", "status": 200.0, "level": "INFO"}
	for name, value := range want {
		if line[name] != value {
			t.Errorf("the line says %s %v, want %v: %v", name, line[name], value, line)
		}
	}
	if path := line["path"].(string); strings.Contains(path, "as_of") {
		t.Errorf("the query stands in the log: %s", path)
	}
	got := m.last(t, "/api/v1/jobs/{job}/state")
	if got.Method != "GET" || got.Status != 200 || got.Out == 0 || got.Took <= 0 || got.Stream {
		t.Errorf("%+v", got)
	}
}

// Addresses and methods that somebody makes up are counted as one.
func TestMadeUpRequestsAreOne(t *testing.T) {
	m := &tally{}
	s := newSite(t, func(c *server.Config) { c.Meter = m })
	c := s.firm("Level Best")
	for _, path := range []string{"/nothing/a", "/nothing/b"} {
		c.send("BREW", path, nil).problem(t, 404, "")
	}
	eventually(t, func() bool { m.mu.Lock(); defer m.mu.Unlock(); return len(m.answers) == 2 })
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, a := range m.answers {
		if a.Route != "none" || a.Method != "other" {
			t.Errorf("counted as %s %s", a.Method, a.Route)
		}
	}
}

// What is asked all day is not told all day, unless something is wrong.
func TestHealthIsQuiet(t *testing.T) {
	gone := false
	s := newSite(t, func(c *server.Config) {
		c.Checks = []server.Check{{Name: "database", Needed: true, Run: func(context.Context) error {
			if gone {
				return errors.New("it is away")
			}
			return nil
		}}}
	})
	a := s.do("GET", "/readyz")
	if level := s.told(a.header.Get("X-Request-Id"))["level"]; a.status != 200 || level != "DEBUG" {
		t.Errorf("%d, logged at %v", a.status, level)
	}
	gone = true
	a = s.do("GET", "/readyz")
	if level := s.told(a.header.Get("X-Request-Id"))["level"]; a.status != 503 || level != "INFO" {
		t.Errorf("%d, logged at %v", a.status, level)
	}
}

// An answer that is cut off because of a bug in the middle of it is in the log and in
// the figures like others, and the bug is counted.
func TestBugIsWatched(t *testing.T) {
	m := &tally{}
	s := newSite(t, func(c *server.Config) { c.Meter, c.Store = m, brokenStore{c.Store} })
	s.firm("Level Best").send("GET", "/people", nil).problem(t, 500, "")
	got := m.last(t, "/api/v1/people")
	m.mu.Lock()
	defer m.mu.Unlock()
	if got.Status != 500 || len(m.panicked) != 1 || m.panicked[0] != "request" {
		t.Errorf("%+v, bugs in %q", got, m.panicked)
	}
}

// What becomes of a batch is counted, event by event.
func TestAppendIsCounted(t *testing.T) {
	m := &tally{}
	s := newSite(t, func(c *server.Config) { c.Meter = m })
	c := s.firm("Level Best")
	d := newDevice(t, c.newJob())
	first, second := d.raw("note", `{"text":"a"}`), d.raw("note", `{"text":"b"}`)
	c.post(d.job, first)
	c.send("POST", "/jobs/"+d.job.String()+"/events", batch(first, second, `{"id":"none"}`)).want(t, 200, nil)
	m.mu.Lock()
	defer m.mu.Unlock()
	var sum watch.Append
	for _, a := range m.appends {
		sum.Events, sum.Stored, sum.Repeated = sum.Events+a.Events, sum.Stored+a.Stored, sum.Repeated+a.Repeated
		if a.Commit <= 0 || a.Took < a.Commit || a.Failed {
			t.Errorf("%+v", a)
		}
	}
	if sum.Events != 4 || sum.Stored != 2 || sum.Repeated != 1 || m.apart != 1 || m.refolds != 1 {
		t.Errorf("%+v, %d apart, %d refolds; want 4 events, 2 stored, 1 repeated, 1 apart, 1 refold", sum, m.apart, m.refolds)
	}
	if v := s.app.Vitals(); v.States != 1 || v.StatesMax == 0 || v.Unsigned != 0 || v.Draining {
		t.Errorf("%+v", v)
	}
}

// Who listens is counted for as long as they do.
func TestStreamsAreCounted(t *testing.T) {
	m := &tally{}
	s := newSite(t, func(c *server.Config) { c.Meter = m })
	c := s.firm("Level Best")
	_, end := c.listen("/live")
	eventually(t, func() bool { return s.app.Vitals().Streams == 1 })
	end()
	eventually(t, func() bool { return s.app.Vitals().Streams == 0 })
	if got := m.last(t, "/api/v1/live"); !got.Stream {
		t.Errorf("%+v", got)
	}
}

// A head that is not signed yet is seen to wait, and no longer once it is.
func TestUnsignedIsSeen(t *testing.T) {
	for name, wait := range map[string]time.Duration{"Soon": time.Millisecond, "Late": time.Hour} {
		t.Run(name, func(t *testing.T) {
			s := newSite(t, signs, func(c *server.Config) { c.SignAfter = wait })
			c := s.firm("Level Best")
			d := newDevice(t, c.newJob())
			c.post(d.job, d.raw("note", `{"text":"a"}`))
			if wait == time.Hour {
				if v := s.app.Vitals(); v.Unsigned != 1 || v.UnsignedFor <= 0 || v.Disagree != 0 {
					t.Errorf("%+v, want one that waits", v)
				}
				return
			}
			eventually(t, func() bool { return s.app.Vitals().Unsigned == 0 })
			c.checkpoint(d.job, 1)
		})
	}
}

// Whoever watches over the server asks how it is without the public's limits, and
// reaches nothing else there.
func TestHealthApart(t *testing.T) {
	s := newSite(t, func(c *server.Config) { c.Limits.Rate, c.Limits.Burst = 0.001, 1 })
	for path, want := range map[string]int{"/healthz": 200, "/readyz": 200, "/jobs": 404, "/api/v1/calc": 404} {
		for range 3 {
			w := httptest.NewRecorder()
			s.app.Health().ServeHTTP(w, httptest.NewRequest("GET", path, nil))
			if w.Code != want {
				t.Errorf("%s: %d, want %d", path, w.Code, want)
			}
		}
	}
}
