package server_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"relevel/jobs/bundle"
)

var takenPack = regexp.MustCompile(`href="(/s/[^"]+/packs/[^"]+)"`)

// An owner takes away what is seen by the link and no more: packs and bundles of later
// records are as none.
func TestOwnerTakesAway(t *testing.T) {
	b := newBrowser(t, newSite(t, signs))
	d := newDevice(t, b.job)
	b.caller.post(b.job, d.raw("note", `{"text":"seen by all"}`), d.raw("note", `{"text":"the last of the first day"}`))
	cut := b.caller.state(b.job).Seq
	early := b.share(url.Values{"up_to": {fmt.Sprint(cut)}}).opened()
	b.caller.post(b.job, d.raw("note", `{"text":"a canary"}`))
	all := b.share(nil).opened()
	for _, want := range []string{early.address + "/pack", early.address + "/bundle.zip", early.address + "/checkpoint", "/verify"} {
		shows(t, early.see(""), `href="`+want+`"`)
	}

	late := all.pack("A4")
	if a := early.ask("GET", strings.Replace(late, all.address, early.address, 1), nil); a.status != http.StatusNotFound {
		t.Errorf("a pack of later by the earlier link: status %d", a.status)
	}
	hides(t, early.see("/pack"), "/packs/")
	if a := early.ask("GET", early.pack("Letter"), nil); a.status != http.StatusOK || !bytes.HasPrefix(a.body, []byte("%PDF-")) || a.header.Get("Cache-Control") != "no-store" {
		t.Errorf("its own pack: status %d, %v", a.status, a.header)
	}
	if a := early.ask("POST", early.address+"/pack", url.Values{"paper": {"A9"}}); a.status != http.StatusUnprocessableEntity || !strings.Contains(string(a.body), "A4 or Letter") {
		t.Errorf("a paper that is none: status %d", a.status)
	}

	for _, o := range []struct {
		*owner
		records int
	}{{early, int(cut)}, {all, int(cut) + 1}} {
		a := o.ask("GET", o.address+"/bundle.zip", nil)
		z, err := zip.NewReader(bytes.NewReader(a.body), int64(len(a.body)))
		must(t, err)
		n := 0
		for _, f := range z.File {
			if strings.HasPrefix(f.Name, "events/") {
				n++
			}
		}
		report, err := bundle.Verify(bytes.NewReader(a.body), bundle.Check{})
		must(t, err)
		if n != o.records || len(report.Faults) > 0 || bytes.Contains(a.body, []byte("a canary")) != (o.owner == all) {
			t.Errorf("%d records, want %d; %v", n, o.records, report.Faults)
		}
	}
	if a := all.ask("GET", all.address+"/checkpoint", nil); a.status != http.StatusOK || !strings.Contains(string(a.body), "\n"+fmt.Sprint(cut+1)+"\n") {
		t.Errorf("the seal: status %d: %s", a.status, a.body)
	}
}

// pack asks for a pack and waits until it can be taken.
func (o *owner) pack(paper string) (path string) {
	o.t.Helper()
	if a := o.ask("POST", o.address+"/pack", url.Values{"paper": {paper}}); a.status != http.StatusSeeOther {
		o.t.Fatalf("status %d: %s", a.status, a.body)
	}
	for range 300 {
		if m := takenPack.FindStringSubmatch(o.see("/pack")); m != nil {
			return m[1]
		}
		time.Sleep(100 * time.Millisecond)
	}
	o.t.Fatalf("no pack came: %s", o.see("/pack"))
	return ""
}

// What costs the server seconds is given out by one link only so often.
func TestOwnerTakesSoOften(t *testing.T) {
	o := newBrowser(t, newSite(t)).share(nil).opened()
	for n := range 30 {
		switch a := o.ask("GET", o.address+"/bundle.zip", nil); {
		case a.status == http.StatusTooManyRequests && n < 5:
			t.Fatalf("refused after %d", n)
		case a.status == http.StatusTooManyRequests:
			return
		case a.status != http.StatusOK:
			t.Fatalf("status %d: %s", a.status, a.body)
		}
	}
	t.Error("never refused")
}
