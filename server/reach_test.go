package server_test

import (
	"net/http"
	"strings"
	"testing"

	"relevel/jobs"
)

// A line that replaces one of an open page leads a hand nowhere that the page itself
// would not.
func TestLinesLeadNowhereForbidden(t *testing.T) {
	desk := newBrowser(t, newSite(t))
	device := newDevice(t, desk.job)
	raw := device.raw("note", `{"text":"first"}`)
	desk.caller.post(desk.job, raw)
	desk.caller.send("POST", "/jobs/"+desk.job.String()+"/events", batch(strings.Replace(raw, "first", "second", 1))).want(t, http.StatusOK, nil)
	tama := desk.joinedBy(t, jobs.CrewHand)
	at := "/lines?job=" + desk.job.String() + ".1"
	if line := desk.get(at); !strings.Contains(line, `href="/quarantine"`) {
		t.Fatalf("the office is not led to what was kept apart: %s", line)
	}
	if line := tama.get(at); strings.Contains(line, `href="/quarantine"`) || !strings.Contains(line, "kept apart") {
		t.Errorf("a hand is shown %s", line)
	}
}
