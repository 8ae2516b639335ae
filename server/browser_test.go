package server_test

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"relevel/events"
)

// The pages in a real browser: entering, one round recorded on a phone with a
// photo, a desk that looks on live, and a line voided. With
// RELEVEL_TEST_SHOTS set to a folder, screenshots of every page are left there.
func TestPagesInBrowser(t *testing.T) {
	node, chromium := browserTools(t)
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	b.caller.post(b.job, d.raw("plan", `{"supports":[{"id":"B1-1","x":1,"y":1},{"id":"B1-2","x":3,"y":1},{"id":"B1-3","x":5,"y":1},{"id":"B1-4","x":7,"y":1}],
		"spots":[{"id":"S1","x":2,"y":2}],"datums":[{"id":"D1","x":0,"y":0,"height":0,"off_building":true}],"bearers":[{"id":"B1","supports":["B1-1","B1-2","B1-3","B1-4"]}]}`))
	b.caller.post(b.job, d.raw("aim", `{"aim":"level","height":0,"face":"floor","tolerance":{"within_mm":2},"agreed_by":"the owner"}`))

	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute)
	defer cancel()
	run := exec.CommandContext(ctx, node, filepath.Join("web", "browsertest", "pages.js"))
	run.Env = append(os.Environ(), "SITE="+siteJSON(t, b, chromium))
	if out, err := run.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s\nthe server's log:\n%s", err, out, b.site.log)
	}
}

// browserTools finds what a test in a browser runs on.
func browserTools(t *testing.T) (node, chromium string) {
	t.Helper()
	node = nodeTool(t)
	chromium, err := exec.LookPath("chromium")
	if err != nil {
		t.Fatalf("a browser is needed: install Debian's chromium: %v", err)
	}
	if _, err := os.Stat("web/node_modules/playwright-core"); err != nil {
		t.Fatal("the browser's driver is needed: run `make test`, or `npm ci` in server/web")
	}
	return node, chromium
}

// siteJSON tells the browser's script what it needs to know.
func siteJSON(t *testing.T, b *browser, chromium string) string {
	t.Helper()
	text, err := json.Marshal(struct {
		URL      string    `json:"url"`
		Token    string    `json:"token"`
		Job      events.ID `json:"job"`
		Photo    []byte    `json:"photo"`
		Chromium string    `json:"chromium"`
		Shots    string    `json:"shots"`
	}{b.site.URL, b.caller.token, b.job, picture(t), chromium, os.Getenv("RELEVEL_TEST_SHOTS")})
	must(t, err)
	return string(text)
}
