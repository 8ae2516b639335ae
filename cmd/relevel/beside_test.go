package main

import (
	"bytes"
	"net/http"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// The commands of somebody who is locked out, wants another firm, a token or a job in one
// file, or has to erase something, work beside the server with the private Postgres, and
// once it has ended.
func TestBesideAServer(t *testing.T) {
	top := openFolder(t)
	dir := filepath.Join(top, "data")
	p, r := serveFirst(t, dir)
	job := noted(t, r)
	first, err := readAccess(accessPath(dir))
	if err != nil {
		t.Fatal(err)
	}
	do := func(says string, args ...string) {
		t.Helper()
		args = append([]string{args[0], "--data", dir, "--quiet"}, args[1:]...)
		if status, out, errs := relevel(t, args...); status != exitOK || !strings.Contains(out, says) {
			t.Errorf("%v: status %d, want %q:\n%s%s", args, status, says, out, errs)
		}
	}
	firm, file := first.Firm.ID.String(), filepath.Join(top, "beside.zip")
	do("/invitation#", "access", "link")
	do("token  rl_", "firm", "token", firm, "tool")
	do("jobs 1", "rebuild")
	do("records ", "export", "--firm", firm, "--out", file, job)
	do("records ", "import", file)
	do("erased: records 1 in 1 jobs", "erase", "--firm", firm, "--job", job, "--records", "1", "--why", "asked for")
	do("damaged or gone 0", "scrub")
	do("link   ", "firm", "add", "Canary")
	status, body := fetch(t, r, "/api/v1/jobs/"+job+"/events?limit=10")
	if status != http.StatusOK || bytes.Contains(body, []byte("note 1")) || !bytes.Contains(body, []byte("note 2")) {
		t.Errorf("afterwards the server answers %d: %s", status, body)
	}
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Errorf("%v: %s", err, p.errs)
	}
	do("erased: records 1 in 1 jobs", "erase", "--firm", firm, "--job", job, "--records", "2", "--why", "asked for")
}
