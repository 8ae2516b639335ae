package main

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"relevel/cmd/relevel/client"
	"relevel/cmd/relevel/demo"
	"relevel/events"
	"relevel/jobs"
)

func TestPlay(t *testing.T) {
	tmp := openFolder(t)
	began := time.Now()
	out, errs, err := once(t, []string{"TMPDIR=" + tmp}, "demo", "--play")
	if err != nil {
		t.Fatalf("%v\n%s\n%s", err, errs, out)
	}
	if took := time.Since(began); took > 40*time.Second {
		t.Errorf("it took %s, want at most 40 s", took)
	}
	for _, want := range []string{
		"Round 1 of 3", "Round 3 of 3", "was misread. The server said: about ", "go-ahead by the engineer",
		"26 of 26", "nothing on a jack, out or on blocking", "Everything is as agreed.",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("it does not say %q", want)
		}
	}
	for line := range strings.Lines(out) {
		if n := len([]rune(strings.TrimRight(line, "\n"))); n > 100 {
			t.Errorf("%d columns: %s", n, line)
		}
	}
	if left, err := os.ReadDir(tmp); err != nil || len(left) > 0 {
		t.Errorf("it left %v behind (%v)", left, err)
	}
}

// ready is the line that a demo prints when it is.
type ready struct {
	URL   string    `json:"url"`
	Job   events.ID `json:"job"`
	Token string    `json:"token"`
}

func (p *process) ready() ready {
	p.t.Helper()
	var r ready
	if err := json.Unmarshal([]byte(p.line()), &r); err != nil {
		p.t.Fatalf("the first line: %v", err)
	}
	return r
}

// TestDemo serves a demo, kills it without warning, and goes on with its data.
func TestDemo(t *testing.T) {
	dir := filepath.Join(openFolder(t), "data")
	args := []string{"demo", "--listen", "127.0.0.1:0", "--data", dir}
	began := time.Now()
	p := launch(t, nil, args...)
	first := p.ready()
	t.Logf("cold start: %s", time.Since(began).Round(time.Millisecond))
	seq := lookRound(t, first)
	if rss := residentMiB(t, p.cmd.Process.Pid); rss >= 150 {
		t.Errorf("the server holds %d MiB, want less than 150", rss)
	} else {
		t.Logf("resident: %d MiB", rss)
	}
	if _, errs, err := once(t, nil, "serve", "--listen", "127.0.0.1:0", "--data", dir); err == nil || !strings.Contains(errs, "in use by another process") {
		t.Errorf("a second server on the same folder: %v, %s", err, errs)
	}
	waitsForTheOffice(t, first)
	record(t, first)

	p.end(syscall.SIGKILL) // reports the signal
	began = time.Now()
	p = launch(t, nil, args...)
	again := p.ready()
	t.Logf("start after a kill: %s", time.Since(began).Round(time.Millisecond))
	if again.Job != first.Job || again.Token != first.Token {
		t.Errorf("after a kill %+v, before %+v", again, first)
	}
	if after := lookRound(t, again); after != seq+1 {
		t.Errorf("%d events after the kill, want the %d from before it and one more", after, seq)
	}
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Errorf("told to stop, it ended with %v: %s", err, p.errs)
	}
	if left := processesOn(t, dir); len(left) > 0 {
		t.Errorf("still running: %v", left)
	}

	began = time.Now()
	p = launch(t, nil, args...)
	p.ready()
	t.Logf("warm start: %s", time.Since(began).Round(time.Millisecond))
	if err := p.end(syscall.SIGINT); err != nil {
		t.Errorf("interrupted, it ended with %v: %s", err, p.errs)
	}
}

// lookRound opens the pages and the state as a visitor would, and returns the
// number of the main job's last event.
func lookRound(t *testing.T, r ready) int64 {
	t.Helper()
	for _, path := range []string{"/", "/jobs/" + r.Job.String(), "/api/v1/jobs", "/readyz"} {
		if status, body := fetch(t, r, path); status != http.StatusOK {
			t.Errorf("%s answers %d: %.200s", path, status, body)
		}
	}
	state, err := client.New(r.URL, r.Token).State(context.Background(), r.Job)
	if err != nil {
		t.Fatal(err)
	}
	if len(state.Supports) < 24 || len(state.Brief.Dangerous) == 0 {
		t.Errorf("%d supports, dangerous: %v", len(state.Supports), state.Brief.Dangerous)
	}
	for _, page := range []string{"", "?size=320"} {
		file := photoOf(t, r)
		if status, body := fetch(t, r, "/api/v1/photos/"+file+page); status != http.StatusOK || events.Sniff(body) != events.MediaJPEG {
			t.Errorf("photo %s%s answers %d with %d bytes", file, page, status, len(body))
		}
	}
	return state.Seq
}

// waitsForTheOffice checks that something was kept apart, and that a phone has records
// that never arrived and some that it did not send.
func waitsForTheOffice(t *testing.T, r ready) {
	t.Helper()
	var kept struct {
		Quarantine []struct{ Reason string }
	}
	_, body := fetch(t, r, "/api/v1/quarantine")
	if err := json.Unmarshal(body, &kept); err != nil || len(kept.Quarantine) != 2 {
		t.Errorf("kept apart: %+v, %v", kept, err)
	}
	var known struct {
		Devices []struct {
			Name   string
			Lost   int64
			Report *jobs.PhoneReport
		}
	}
	_, body = fetch(t, r, "/api/v1/devices")
	if err := json.Unmarshal(body, &known); err != nil {
		t.Fatal(err)
	}
	for _, d := range known.Devices {
		if d.Name == "Sorrel’s phone" && d.Lost == 2 && d.Report != nil && d.Report.Unsent == 3 {
			return
		}
	}
	t.Errorf("no phone with a gap: %s", body)
}

func fetch(t *testing.T, r ready, path string) (int, []byte) {
	t.Helper()
	req, err := http.NewRequest(http.MethodGet, r.URL+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Authorization", "Bearer "+r.Token)
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res.StatusCode, body
}

// photoOf finds the digest of a photo in the main job's book.
func photoOf(t *testing.T, r ready) string {
	t.Helper()
	_, body := fetch(t, r, "/api/v1/jobs/"+r.Job.String()+"/events?limit=1000")
	var book struct {
		Events []struct {
			Event struct {
				Files []events.File `json:"files"`
			} `json:"event"`
		} `json:"events"`
	}
	if err := json.Unmarshal(body, &book); err != nil {
		t.Fatal(err)
	}
	for _, e := range book.Events {
		if len(e.Event.Files) > 0 {
			return e.Event.Files[0].SHA256.String()
		}
	}
	t.Fatal("no photo in the book")
	return ""
}

// record adds one note to the main job.
func record(t *testing.T, r ready) {
	t.Helper()
	phone, err := demo.NewPhone(time.Now(), strings.NewReader(strings.Repeat("another phone", 10)))
	if err != nil {
		t.Fatal(err)
	}
	note, err := phone.Seal(r.Job, 0, demo.Entry{Kind: events.KindNote, Body: &events.Note{Text: "before the kill"}, At: time.Now()})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := client.New(r.URL, r.Token).Append(context.Background(), r.Job, []events.Incoming{note}); err != nil {
		t.Fatal(err)
	}
}
