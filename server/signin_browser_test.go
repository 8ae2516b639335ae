package server_test

import (
	"context"
	"crypto/rand"
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

// Signing in, in a real browser. With RELEVEL_TEST_SHOTS set to a folder, screenshots
// of every page are left there. The server has a name, because passkeys need one.
func TestSignInInBrowser(t *testing.T) {
	node, chromium := browserTools(t)
	s := newSite(t, func(c *server.Config) { c.Limits.Doors = 1000 })
	c := s.firm("A new firm")
	secret, hash, err := jobs.NewInvitation(c.firm, rand.Reader)
	must(t, err)
	now := time.Now()
	must(t, pgjobs.New(s.db.App).CreateInvitation(t.Context(), jobs.Invitation{Firm: c.firm, ID: newID(t), Hash: hash, Purpose: jobs.First, CreatedAt: now, ExpiresAt: now.Add(time.Hour)}))
	site, err := json.Marshal(map[string]any{
		"url": strings.Replace(s.URL, "127.0.0.1", "localhost", 1), "link": secret, "chromium": chromium, "shots": os.Getenv("RELEVEL_TEST_SHOTS"),
		"email": "mere@" + c.firm.String() + ".example.com", "hand": "tama@" + c.firm.String() + ".example.com",
	})
	must(t, err)
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute)
	defer cancel()
	run := exec.CommandContext(ctx, node, filepath.Join("web", "browsertest", "signin.js"))
	run.Env = append(os.Environ(), "SITE="+string(site))
	if out, err := run.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s\nthe server's log:\n%s", err, out, s.log)
	}
}
