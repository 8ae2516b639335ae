package server_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"relevel/server"
)

func head(job fmt.Stringer, seq int) string {
	return fmt.Sprintf(`{"job":"%s","seq":%d}`, job, seq)
}

func wantNext(t *testing.T, l *lines, want string) {
	t.Helper()
	if got := l.next(); got != want {
		t.Errorf("the stream says %s, want %s", got, want)
	}
}

func TestStreamOK(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job, elsewhere := c.newJob(), c.newJob()
	d := newDevice(t, job)
	c.post(job, d.raw("note", `{}`))
	l, _ := c.listen("/jobs/" + job.String() + "/live")
	wantNext(t, l, head(job, 1))
	c.post(elsewhere, newDevice(t, elsewhere).raw("note", `{}`))
	began := time.Now()
	c.post(job, d.raw("note", `{}`), d.raw("note", `{}`))
	wantNext(t, l, head(job, 3))
	if waited := time.Since(began); waited > time.Second {
		t.Errorf("an append of this server was told after %v", waited)
	}
}

func TestStreamOfOtherServer(t *testing.T) {
	s := newSite(t)
	c := s.firm("Level Best")
	other := c.at(newSiteOn(t, s.db))
	job := c.newJob()
	one, _ := c.listen("/jobs/" + job.String() + "/live")
	all, _ := c.listen("/live")
	wantNext(t, one, head(job, 0))
	other.post(job, newDevice(t, job).raw("note", `{}`))
	wantNext(t, one, head(job, 1))
	wantNext(t, all, head(job, 1))
}

func TestStreamOfFirm(t *testing.T) {
	s := newSite(t)
	c, stranger := s.firm("Level Best"), s.firm("Plumb & Sons")
	l, _ := c.listen("/live")
	theirs := stranger.newJob()
	stranger.post(theirs, newDevice(t, theirs).raw("note", `{}`))
	for range 2 {
		job := c.newJob()
		c.post(job, newDevice(t, job).raw("note", `{}`))
		wantNext(t, l, head(job, 1))
	}
}

// Whoever comes back is told only of what came since.
func TestStreamLastEventID(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	c.post(job, d.raw("note", `{}`))
	behind, _ := c.listen("/jobs/"+job.String()+"/live", "Last-Event-ID", "0")
	wantNext(t, behind, head(job, 1))
	ahead, _ := c.listen("/jobs/"+job.String()+"/live", "Last-Event-ID", "99")
	level, _ := c.listen("/jobs/"+job.String()+"/live", "Last-Event-ID", "1")
	c.post(job, d.raw("note", `{}`))
	wantNext(t, level, head(job, 2))
	wantNext(t, ahead, head(job, 2))
}

func TestStreamEndsWithServer(t *testing.T) {
	s := newSite(t)
	c := s.firm("Level Best")
	job := c.newJob()
	l, _ := c.listen("/jobs/" + job.String() + "/live")
	wantNext(t, l, head(job, 0))
	s.end()
	for l.text.Scan() {
	}
	if err := l.text.Err(); err != nil {
		t.Errorf("the stream ended with %v, want it closed well", err)
	}
}

// A server that is about to end says so to whoever asks whether it is ready, answers all
// the same, and sends those who listen away one by one with a word on when to come again.
func TestStreamsAreSentOn(t *testing.T) {
	s := newSite(t)
	c := s.firm("Level Best")
	job := c.newJob()
	l, _ := c.listen("/jobs/" + job.String() + "/live")
	wantNext(t, l, head(job, 0))
	readiness := func() int {
		resp, err := http.Get(s.URL + "/readyz")
		must(t, err)
		resp.Body.Close()
		return resp.StatusCode
	}
	if got := readiness(); got != 200 {
		t.Fatalf("at first it is not ready: %d", got)
	}
	s.app.Drain(300 * time.Millisecond)
	if got := readiness(); got != 503 {
		t.Errorf("it is about to end and answers %d", got)
	}
	c.post(job, newDevice(t, job).raw("note", `{}`))
	var last string
	for l.text.Scan() {
		if text := l.text.Text(); text != "" {
			last = text
		}
	}
	if err := l.text.Err(); err != nil || !strings.HasPrefix(last, "retry: ") {
		t.Errorf("the stream ended with %v after %q, want it closed well after a word on when to come again", err, last)
	}
}

func TestStreamRefused(t *testing.T) {
	s := newSite(t, func(c *server.Config) { c.Limits.Streams = 1 })
	c, stranger := s.firm("Level Best"), s.firm("Plumb & Sons")
	job := c.newJob()
	stranger.send("GET", "/jobs/"+job.String()+"/live", nil).problem(t, 404, "")
	l, end := c.listen("/jobs/" + job.String() + "/live")
	wantNext(t, l, head(job, 0))
	a := c.send("GET", "/live", nil)
	a.problem(t, 429, "")
	if a.header.Get("Retry-After") == "" {
		t.Error("no Retry-After")
	}
	end()
	deadline := time.Now().Add(5 * time.Second)
	for {
		r, err := c.request(t.Context(), "GET", "/live", nil)
		must(t, err)
		resp, err := s.Client().Do(r)
		must(t, err)
		resp.Body.Close()
		if resp.StatusCode == 200 {
			return
		}
		if time.Now().After(deadline) {
			t.Fatal("the place of a stream that ended is not free again")
		}
		time.Sleep(20 * time.Millisecond)
	}
}
