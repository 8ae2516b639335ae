package server_test

import (
	"net/http"
	"regexp"
	"testing"
)

var shownLink = regexp.MustCompile(`/s/([0-9a-f]{32}-[0-9a-f]{32})#([2-9A-HJ-NP-Z]{52})`)

// fillShare makes an owner's link and opens it.
func (w *world) fillShare(t *testing.T) {
	t.Helper()
	a := w.visit(t, "POST", "/jobs/{job}/shares", "id={share}&name=owner+{word}&until=2027-03-02&up_to=")
	link := shownLink.FindSubmatch(a.body)
	if a.status != http.StatusCreated || link == nil {
		t.Fatalf("status %d, want a link: %s", a.status, a.body)
	}
	stranger := &world{caller: &caller{t: t, url: w.url}, clock: w.clock}
	if a := stranger.visit(t, "POST", "/s/"+string(link[1]), "code="+string(link[2])); a.status != http.StatusSeeOther {
		t.Fatalf("status %d, want it opened: %s", a.status, a.body)
	}
}
