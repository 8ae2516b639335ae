package server_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"relevel/server"
)

// Owners' links in a real browser: made at the desk and mailed, opened by their link and,
// where no script runs, by the code; a change accepted with keys alone; all of it at the
// width of a desk and of a phone, by night, read by axe, and on paper. With
// RELEVEL_TEST_SHOTS set to a folder, screenshots are left there.
func TestSharesInBrowser(t *testing.T) {
	node, chromium := browserTools(t)
	post := &postbag{letters: make(chan server.Letter, 4)}
	b := newBrowser(t, newSite(t, func(c *server.Config) { c.Mail, c.URL, c.Limits.Doors = post, "https://levels.example", 1000 }))
	d := newDevice(t, b.job)
	for _, body := range []string{`{"text":"one more stump under the kitchen","amount":480.5,"currency":"AUD"}`, `{"text":"a new step at the back door"}`} {
		id, raw := d.event("change", body)
		b.caller.post(b.job, raw)
		b.shot(d, b.job, id.String())
	}
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute)
	defer cancel()
	run := exec.CommandContext(ctx, node, filepath.Join("web", "browsertest", "shares.js"))
	run.Env = append(os.Environ(), "SITE="+siteJSON(t, b, chromium))
	if out, err := run.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s\nthe server's log:\n%s", err, out, b.site.log)
	}
	hides(t, b.site.log.String(), string(shownLink.FindStringSubmatch((<-post.letters).Text)[2]))
}
