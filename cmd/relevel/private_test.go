package main

import (
	"net/http"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"
)

var figuresAt = regexp.MustCompile(`(http://\S+)/metrics`)

// Figures, profiles and health are on a port of their own, with what the server needs
// and what is counted over all firms; on the public's there is nothing of them.
func TestPrivatePort(t *testing.T) {
	dir := filepath.Join(openFolder(t), "data")
	p := launch(t, []string{envPrivate + "=127.0.0.1:0"}, "serve", "--listen", "127.0.0.1:0", "--data", dir)
	greeting := p.line() + p.line() + p.line()
	public, at := regexp.MustCompile(`serves at (http://\S+)`).FindStringSubmatch(greeting), figuresAt.FindStringSubmatch(greeting)
	if public == nil || at == nil {
		t.Fatalf("it greets with %q", greeting)
	}
	for path, want := range map[string]int{"/metrics": 200, "/healthz": 200, "/readyz": 200, "/debug/pprof/": 200, "/debug/pprof/heap": 200, "/jobs": 404, "/api/v1/calc": 404} {
		if status, _ := fetch(t, ready{URL: at[1]}, path); status != want {
			t.Errorf("the private port answers %s with %d, want %d", path, status, want)
		}
	}
	for _, path := range []string{"/metrics", "/debug/pprof/", "/debug/pprof/heap"} {
		if status, _ := fetch(t, ready{URL: public[1]}, path); status != http.StatusNotFound {
			t.Errorf("the public port answers %s with %d, want 404", path, status)
		}
	}
	for _, want := range []string{
		`relevel_check_up{check="database"} 1`, `relevel_check_up{check="schema"} 1`, `relevel_check_up{check="photos"} 1`,
		"relevel_census_fresh 1", "relevel_phones_unsent 0", `relevel_db_connections_limit{pool="worker"} 16`,
		`relevel_http_requests_total{class="4xx",method="GET",route="none"} 3`, "go_goroutines ", "process_open_fds ",
	} {
		waitForFigure(t, at[1], want)
	}
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Errorf("told to stop, it ended with %v: %s", err, p.errs)
	}
}

// waitForFigure asks for figures until a line begins like that.
func waitForFigure(t *testing.T, url, want string) {
	t.Helper()
	for range 600 {
		_, body := fetch(t, ready{URL: url}, "/metrics")
		for line := range strings.Lines(string(body)) {
			if strings.HasPrefix(line, want) {
				return
			}
		}
		time.Sleep(100 * time.Millisecond)
	}
	t.Errorf("no figure is %q", want)
}

// Figures say how far the backups reach: not at all at first, then to the last one. They
// say how much room is left there, and where the server itself writes.
func TestBackupsInFigures(t *testing.T) {
	dir, into := filepath.Join(openFolder(t), "data"), t.TempDir()
	env := []string{envPrivate + "=127.0.0.1:0", envBackups + "=" + into}
	for _, want := range []string{"relevel_backup_reach_timestamp_seconds 0\n", "relevel_backup_reach_timestamp_seconds 1."} {
		p := launch(t, env, "serve", "--listen", "127.0.0.1:0", "--data", dir)
		at := figuresAt.FindStringSubmatch(p.line() + p.line() + p.line())
		if at == nil {
			t.Fatalf("it names no address for figures; on standard error: %s", p.errs)
		}
		waitForFigure(t, at[1], want)
		for _, disk := range []string{"data", "temporary", "backups"} {
			waitForFigure(t, at[1], `relevel_disk_free_bytes{disk="`+disk+`"} `)
		}
		if out, errs, err := once(t, env, "backup", "--data", dir); err != nil {
			t.Fatalf("%v: %s%s", err, out, errs)
		}
		if err := p.end(syscall.SIGTERM); err != nil {
			t.Errorf("told to stop, it ended with %v: %s", err, p.errs)
		}
	}
}
