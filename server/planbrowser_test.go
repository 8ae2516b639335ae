package server_test

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"relevel/server"
	"relevel/server/web"
)

// builtOffice are the office's scripts as the tree has them now, whatever this test
// was compiled with. They are made in a folder of the test: others are compiled with
// what lies in dist meanwhile.
func builtOffice(t *testing.T) *web.Office {
	t.Helper()
	to := t.TempDir()
	if out, err := exec.Command(nodeTool(t), "web/build.mjs", "--office", to).CombinedOutput(); err != nil {
		t.Fatalf("bundle the office's scripts: %v\n%s", err, out)
	}
	office, err := web.ReadOffice(os.DirFS(to))
	must(t, err)
	return office
}

// The drawing of a plan in a real browser: by mouse, by keyboard alone and by
// touch, with what somebody else records meanwhile. With RELEVEL_TEST_SHOTS set to a
// folder, screenshots are left there, and with RELEVEL_TEST_PLAN to names of checks,
// separated by ";", only those run.
func TestPlanInBrowser(t *testing.T) {
	node, chromium := browserTools(t)
	office := builtOffice(t)
	b := newBrowser(t, newSite(t, func(c *server.Config) { c.Office = office }))
	text, err := json.Marshal(map[string]any{
		"url": b.site.URL, "token": b.caller.token, "job": b.job, "person": b.person, "photo": picture(t), "chromium": chromium, "shots": os.Getenv("RELEVEL_TEST_SHOTS"),
	})
	must(t, err)
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Minute)
	defer cancel()
	args := []string{filepath.Join("web", "browsertest", "plan.js")}
	if only := os.Getenv("RELEVEL_TEST_PLAN"); only != "" {
		args = append(args, strings.Split(only, ";")...)
	}
	run := exec.CommandContext(ctx, node, args...)
	run.Env = append(os.Environ(), "SITE="+string(text))
	out, err := run.CombinedOutput()
	t.Logf("%s", out)
	if err != nil {
		t.Errorf("%v\nthe server's log:\n%s", err, b.site.log)
	}
}
