package server_test

import (
	"context"
	"encoding/json"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"relevel/jobs"
	"relevel/levelling"
)

// hostile is what somebody may type where words are asked for. Each would run, load or
// lead somewhere if a page took it for its own; "ran" in the page tells that it did.
var hostile = []string{
	`<script>ran=1</script>`, `\u0022><img src=x onerror=ran=1>`, `' onmouseover='ran=1' autofocus onfocus='ran=1`, `</title><style>*{color:red}</style>`,
	`<svg onload=ran=1><a href=javascript:ran=1>x`, `<img src=//elsewhere.example/x.png>`, `{{.}}\u0060${ran=1}\u0060`, `javascript:ran=1`, `<iframe src=//elsewhere.example>`,
	`<meta http-equiv=refresh content=0;url=//elsewhere.example>`, `<base href=//elsewhere.example>`, `<form action=//elsewhere.example><button>x`, `]]><!--<script>ran=1//`,
}

// Every page in a real browser, of a house where people typed markup wherever words are
// taken: nothing of it runs or loads, nothing breaks the page's policy, and what is put
// into a page on purpose is refused by it. No page can be framed.
func TestPolicyInBrowser(t *testing.T) {
	node, chromium := browserTools(t)
	clock := newHandClock()
	s := newSite(t, withClock(clock))
	var replace []string
	for i, was := range []string{"hall", "crossed hardwood", "waste pipe", "the owner", "a new step", "rain", "a hand", "K1", "L1", "G1", "sunk", "hatch shut", "near miss", "misread"} {
		replace = append(replace, `"`+was+`"`, `"`+hostile[i%len(hostile)]+`"`)
	}
	h := newHouseOf(t, s, clock, jobs.Firm{Words: jobs.Australia, Units: levelling.Millimetre}, lordHowe, strings.NewReplacer(replace...))
	for i, body := range hostile {
		h.record(t, "note", `{"text":"`+body+`","supports":["A2"]}`, "hostile")
		h.add(t, "POST", "/people", `{"id":"`+newID(t).String()+`","name":"`+body+`","role":"crew-hand"}`)
		h.add(t, "POST", "/jobs", `{"id":"`+newID(t).String()+`","name":"`+body+`","place":"`+hostile[len(hostile)-1-i]+`","zone":"{zone}"}`)
	}
	var pages []string
	for _, path := range pagePaths() {
		a := h.ask(t, request{method: "GET", path: path}, h.names)
		if a.status == http.StatusOK && strings.HasPrefix(a.header.Get("Content-Type"), "text/html") {
			pages = append(pages, h.fill(path))
		}
	}
	var share struct{ Link string }
	h.send("POST", h.fill("/jobs/{job}/shares"), []byte(`{"name":"R. and T. Finch"}`)).want(t, http.StatusCreated, &share)
	site, err := json.Marshal(map[string]any{"url": s.URL, "token": h.token, "chromium": chromium, "job": h.names["job"], "pages": pages,
		"open": []string{"/enter", "/trust", "/verify", "/api", "/pair", "/invitation", "/reset", "/nothing"}, "share": share.Link})
	must(t, err)
	ctx, cancel := context.WithTimeout(t.Context(), 8*time.Minute)
	defer cancel()
	run := exec.CommandContext(ctx, node, filepath.Join("web", "browsertest", "policy.js"))
	run.Env = append(os.Environ(), "SITE="+string(site))
	if out, err := run.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}
