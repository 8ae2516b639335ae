package main

import (
	"bytes"
	"net/http"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
)

// The private Postgres is started for it and stopped again.
func TestRebuild(t *testing.T) {
	dir := filepath.Join(openFolder(t), "data")
	p := launch(t, nil, "serve", "--listen", "127.0.0.1:0", "--data", dir)
	greeting := p.line() + p.line()
	url := regexp.MustCompile(`serves at (http://[^\s]+)`).FindStringSubmatch(greeting)
	token := regexp.MustCompile(`/enter#(rl_\w+)`).FindStringSubmatch(greeting)
	if url == nil || token == nil {
		t.Fatalf("it greets with %q", greeting)
	}
	r, err := http.NewRequestWithContext(t.Context(), "POST", url[1]+"/api/v1/jobs", strings.NewReader(`{"name":"14 Wattle Street","zone":"UTC"}`))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+token[1])
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if resp.StatusCode != http.StatusCreated {
		t.Fatalf("a job: %d", resp.StatusCode)
	}
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Fatalf("%v: %s", err, p.errs)
	}
	var out, errs bytes.Buffer
	if status := run(t.Context(), []string{"rebuild", "--data", dir, "--quiet"}, nil, nil, &out, &errs); status != exitOK || out.String() != "rebuilt from the log: firms 1, jobs 1\n" {
		t.Errorf("status %d: %s%s", status, &out, &errs)
	}
	if left := processesOn(t, dir); len(left) > 0 {
		t.Errorf("still running: %v", left)
	}
}
