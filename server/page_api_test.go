package server_test

import (
	"context"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// The page says of every operation and every kind what there is to say, to somebody
// who has not entered, and nothing of a firm to one who has.
func TestAPIPage(t *testing.T) {
	s := newSite(t)
	resp, err := http.Get(s.URL + "/api")
	must(t, err)
	resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		t.Errorf("status %d for somebody who has not entered", resp.StatusCode)
	}
	b := newBrowser(t, s)
	page := b.get("/api")
	d, err := theDescription()
	must(t, err)
	for _, r := range d.routes {
		if !strings.Contains(page, "<code>"+r.method+" "+r.path+"</code>") {
			t.Errorf("%s %s is not on the page", r.method, r.path)
		}
	}
	for _, kind := range kindsWithFixtures(t) {
		if !strings.Contains(page, "<b>"+kind.name+"</b>") {
			t.Errorf("%s is not on the page", kind.name)
		}
	}
	for _, want := range []string{"curl -X PUT &#39;" + s.URL + "/api/v1/photos/", "--data-binary @file", "&#34;outcome&#34;: &#34;stored&#34;", "number, 0 to 100"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page has no %s", want)
		}
	}
	for _, not := range []string{"Level &amp; Sons", b.caller.token, "<no value>", "%!"} {
		if strings.Contains(page, not) {
			t.Errorf("the page has %s", not)
		}
	}
}

func TestAPIPageInBrowser(t *testing.T) {
	node, chromium := browserTools(t)
	b := newBrowser(t, newSite(t))
	ctx, cancel := context.WithTimeout(t.Context(), 4*time.Minute)
	defer cancel()
	run := exec.CommandContext(ctx, node, filepath.Join("web", "browsertest", "api.js"))
	run.Env = append(os.Environ(), "SITE="+siteJSON(t, b, chromium))
	if out, err := run.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}
