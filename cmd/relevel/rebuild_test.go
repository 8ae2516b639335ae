package main

import (
	"bytes"
	"net/http"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// The private Postgres is started for it and stopped again.
func TestRebuild(t *testing.T) {
	dir := filepath.Join(openFolder(t), "data")
	p, first := serveFirst(t, dir)
	r, err := http.NewRequestWithContext(t.Context(), "POST", first.URL+"/api/v1/jobs", strings.NewReader(`{"name":"14 Wattle Street","zone":"UTC"}`))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+first.Token)
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
