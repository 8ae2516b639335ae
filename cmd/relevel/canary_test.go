package main

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"relevel/cmd/relevel/canary"
	"relevel/cmd/relevel/client"
	"relevel/jobs"
)

// The canary finds that a server works, leaves one job however often it sings, notices
// when photos cannot be kept, and touches no firm that works.
func TestCanary(t *testing.T) {
	dir := filepath.Join(openFolder(t), "data")
	p, r := serveFirst(t, dir)
	env := []string{envCanary + "=" + r.Token}
	for range 2 {
		out, errs, err := once(t, env, "canary", "--url", r.URL)
		if err != nil {
			t.Fatalf("it ends with %v: %s%s\nserver: %s", err, out, errs, p.errs)
		}
		for _, step := range canary.Steps() {
			if !strings.Contains(out, step) {
				t.Errorf("nothing is said of %s: %s", step, out)
			}
		}
	}
	c := client.New(r.URL, r.Token)
	list, err := c.Jobs(t.Context())
	if err != nil || len(list) != 1 || !strings.HasPrefix(list[0].Name, "Canary ") {
		t.Errorf("it left %v, %v", list, err)
	}
	if records, _, err := c.Book(t.Context(), list[0].ID, 0, 100); err != nil || len(records) != 2 {
		t.Errorf("it left %d records, %v", len(records), err)
	}
	if err := os.RemoveAll(filepath.Join(dir, "photos")); err != nil {
		t.Fatal(err)
	}
	out, errs, err := once(t, env, "canary", "--url", r.URL)
	if err == nil || !strings.Contains(errs, "photo: ") || strings.Count(out, "failed") != 1 {
		t.Errorf("without photos it ends with %v: %s%s", err, out, errs)
	}
	if err := c.CreateJob(t.Context(), jobs.Job{Name: "14 Wattle Street", Zone: "UTC"}); err != nil {
		t.Fatal(err)
	}
	if _, errs, err := once(t, env, "canary", "--url", r.URL); err == nil || !strings.Contains(errs, "firm add") {
		t.Errorf("in a firm that works it ends with %v: %s", err, errs)
	}
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Error(err)
	}
}

// A canary that goes on shows figures, also of a server that is not there.
func TestCanaryGoesOn(t *testing.T) {
	gone := "http://127.0.0.1:1"
	p := launch(t, []string{envCanary + "=rl_01a2175131c170ce9ec7a05098ab6c62_" + strings.Repeat("5c", 32)}, "canary", "--url", gone, "--every", "1h", "--private", "127.0.0.1:0")
	at := figuresAt.FindStringSubmatch(p.line())
	if at == nil {
		t.Fatal("it does not say where its figures are")
	}
	waitForFigure(t, at[1], `relevel_canary_up{step="append"} 0`)
	waitForFigure(t, at[1], `relevel_canary_runs_total{outcome="failed"} 1`)
	if status, _ := fetch(t, ready{URL: at[1]}, "/debug/pprof/"); status != http.StatusNotFound {
		t.Errorf("profiles are answered %d", status)
	}
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Errorf("told to stop, it ended with %v: %s", err, p.errs)
	}
}
