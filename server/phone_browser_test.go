package server_test

import (
	"bufio"
	"cmp"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"relevel/jobs"
	"relevel/jobs/pgjobs"
	"relevel/server"
)

// The phone's app in a real browser, against the real server, database and store of
// photos. Each check says its name; what was measured is printed. Screenshots of all
// screens are left in the folder that RELEVEL_TEST_SHOTS names, else in shots, which git
// ignores; with RELEVEL_TEST_PHONE set to names of checks, separated by ";", only those
// run.
func TestPhoneInBrowser(t *testing.T) {
	node, chromium := browserTools(t)
	if _, err := os.Stat("web/dist/phone/app.js"); err != nil {
		t.Fatal("the phone's app is not built: run `make phone`")
	}
	// Every check pairs phones of its own, all from one address.
	s := newSite(t, func(c *server.Config) { c.Limits.Pairs = 1000 })
	c := s.firm("Level & Daughters")
	person := newID(t)
	must(t, pgjobs.New(s.db.App).CreatePerson(t.Context(), jobs.Person{Firm: c.firm, ID: person, Name: "Mere Kohu", Role: jobs.SiteLead, CreatedAt: time.Now()}))
	shots, err := filepath.Abs(cmp.Or(os.Getenv("RELEVEL_TEST_SHOTS"), "shots"))
	must(t, err)
	must(t, os.MkdirAll(shots, 0o755))
	site, err := json.Marshal(map[string]any{"url": s.URL, "token": c.token, "person": "Mere Kohu", "personID": person, "chromium": chromium, "shots": shots})
	must(t, err)

	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Minute)
	defer cancel()
	args := []string{filepath.Join("web", "browsertest", "phone.js")}
	if only := os.Getenv("RELEVEL_TEST_PHONE"); only != "" {
		args = append(args, strings.Split(only, ";")...)
	}
	run := exec.CommandContext(ctx, node, args...)
	run.Env = append(os.Environ(), "SITE="+string(site))
	run.Stderr = os.Stderr
	out, err := run.StdoutPipe()
	must(t, err)
	must(t, run.Start())
	for lines := bufio.NewScanner(out); lines.Scan(); {
		t.Log(lines.Text())
	}
	if err := run.Wait(); err != nil {
		t.Errorf("a check failed, see above: %v", err)
	}
}
