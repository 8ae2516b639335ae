package server_test

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

// The owner's page in a real browser: at the widths of a desk and of phones, by night
// and on paper, with two prints swapped by mouse and by key, and without script.
func TestOwnerInBrowser(t *testing.T) {
	node, chromium := browserTools(t)
	b := ownedJob(t)
	site, err := json.Marshal(map[string]any{"url": b.site.URL, "token": b.caller.token, "job": b.job, "chromium": chromium, "shots": os.Getenv("RELEVEL_TEST_SHOTS")})
	must(t, err)
	ctx, cancel := context.WithTimeout(t.Context(), 8*time.Minute)
	defer cancel()
	run := exec.CommandContext(ctx, node, filepath.Join("web", "browsertest", "owner.js"))
	run.Env = append(os.Environ(), "SITE="+string(site))
	if out, err := run.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}
