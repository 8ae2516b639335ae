//go:build bench

package bench

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"strings"
	"testing"

	"relevel/jobs"
)

// What a page may take on a slow phone (web.dev/articles/vitals, what is good), in
// milliseconds and in the unit of shifts.
const (
	mostLCP = 2500
	mostINP = 200
	mostCLS = 0.1
)

// vital is one look at a page.
type vital struct {
	LCP, INP, CLS float64
	Bytes         int
	Requests      int
}

// TestVitals prints how pages feel on a phone of 360 px with a processor four times
// slower than this one, at 9 and 3 Mbps with 100 ms: the limit of the largest paint to
// what it took, and what was carried at the first look and at the second. What the
// phone's worker fetches behind the first paint, the WebAssembly above all, is not in it.
func TestVitals(t *testing.T) {
	s := start(t)
	j := s.newJob(t)
	s.fill(t, j, 400)
	office, link := s.as(t, jobs.Office), s.shareOf(t, j)
	base := "/jobs/" + j.id.String()
	type page struct {
		Name    string `json:"name"`
		Path    string `json:"path"`
		Session string `json:"session,omitempty"`
		Shows   string `json:"shows"`
		Touch   string `json:"touch"`
	}
	pages := []page{
		{"phone", "/phone/", "", "input", "input"},
		{"sign-in", "/enter", "", "h1", "input"},
		{"day-sheet", "/", office.session, "h1", "h1"},
		{"job", base, office.session, "svg", "main summary, main button"},
		{"book", base + "/book", office.session, "table", "main summary, main input"},
		{"plan", base + "/plan", office.session, "svg", "main button"},
		{"owner", link, "", "h1", "h1"},
	}
	chromium, err := exec.LookPath("chromium")
	must(t, err)
	told, err := json.Marshal(map[string]any{"url": s.address, "chromium": chromium, "pages": pages})
	must(t, err)
	run := exec.CommandContext(t.Context(), "node", "../web/browsertest/vitals.js")
	run.Env, run.Stderr = append(os.Environ(), "SITE="+string(told)), os.Stderr
	out, err := run.Output()
	must(t, err)
	var seen []struct {
		Name         string
		First, Again vital
	}
	must(t, json.Unmarshal(out, &seen))
	for _, one := range seen {
		f := one.First
		fmt.Printf("page-%-14s %5.2f  LCP %.0f ms of at most %d, INP %.0f of %d, CLS %.3f of %.1f; %d KB in %d answers, the second time %d in %d and LCP %.0f ms\n",
			one.Name, mostLCP/f.LCP, f.LCP, mostLCP, f.INP, mostINP, f.CLS, mostCLS, f.Bytes>>10, f.Requests, one.Again.Bytes>>10, one.Again.Requests, one.Again.LCP)
	}
}

// shareOf is the path of a link for the owner of a job, with what opens it.
func (s *site) shareOf(t *testing.T, j *job) string {
	r, err := http.NewRequestWithContext(t.Context(), "POST", s.address+"/api/v1/jobs/"+j.id.String()+"/shares", strings.NewReader(`{"name":"The owner"}`))
	must(t, err)
	s.identify(r)
	resp, err := s.client.Do(r)
	must(t, err)
	defer resp.Body.Close()
	var made struct{ Link string }
	must(t, json.NewDecoder(resp.Body).Decode(&made))
	if made.Link == "" {
		t.Fatalf("a link for the owner is answered %s", resp.Status)
	}
	link, err := url.Parse(made.Link)
	must(t, err)
	return link.RequestURI() + "#" + link.Fragment
}
