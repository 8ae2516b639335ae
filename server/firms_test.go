package server_test

import (
	"bytes"
	"strings"
	"testing"
)

// With ids swapped, one firm finds nothing of another: 404 wherever the owner
// would be answered, and none of the words that only the owner knows.
func TestTwoFirms(t *testing.T) {
	s := newSite(t)
	ours, theirs := s.firm("Level Best"), s.firm("Plumb & Sons")
	const canary = "canary-7f3a"
	job := theirs.newJob()
	d := newDevice(t, job)
	theirs.post(job, d.raw("plan", smallPlan), d.raw("note", `{"text":"`+canary+`"}`))
	jpeg := smallJPEG(t)
	photo := "/photos/" + sha(jpeg)
	theirs.send("PUT", photo, jpeg, "Content-Type", "image/jpeg").want(t, 200, nil)
	theirs.send("POST", "/people", []byte(`{"name":"`+canary+`","role":"office"}`)).want(t, 201, nil)
	theirs.send("POST", "/crews", []byte(`{"name":"`+canary+`"}`)).want(t, 201, nil)
	theirs.send("POST", "/profiles", []byte(`{"name":"`+canary+`","title":"`+canary+`","limits":[{"kind":"range","limit_mm":20}]}`)).want(t, 201, nil)
	theirs.send("POST", "/jacks", []byte(`{"name":"`+canary+`","rated_kn":50}`)).want(t, 201, nil)
	theirs.send("POST", "/lasers", []byte(`{"name":"`+canary+`"}`)).want(t, 201, nil)
	theirs.send("POST", "/practice", []byte(`{"step_mm":3.25}`)).want(t, 201, nil)
	theirs.send("POST", "/jobs", []byte(`{"name":"`+canary+`","zone":"UTC"}`)).want(t, 201, nil)
	theirs.send("POST", "/jobs/"+job.String()+"/events", []byte(canary)).problem(t, 400, "")

	at := "/jobs/" + job.String()
	for _, path := range []string{at, at + "/events", at + "/events?exact=1", at + "/state", at + "/state?as_of=1", at + "/choices", at + "/rounds", at + "/packers", at + "/supports/B1-1/carrying", photo, photo + "?size=320", photo + "/state"} {
		theirs.send("GET", path, nil).want(t, 200, nil)
		ours.send("GET", path, nil).problem(t, 404, "")
	}
	for _, path := range []string{"/jobs", "/people", "/crews", "/profiles", "/jacks", "/lasers", "/phone", "/quarantine"} {
		if a := theirs.send("GET", path, nil).want(t, 200, nil); !bytes.Contains(a.body, []byte(`"name":"`+canary)) && path != "/quarantine" {
			t.Errorf("GET %s does not show the owner %s: %s", path, canary, a.body)
		}
		if a := ours.send("GET", path, nil).want(t, 200, nil); bytes.Contains(a.body, []byte(canary)) {
			t.Errorf("GET %s shows us theirs: %s", path, a.body)
		}
	}
	if a := ours.send("GET", "/practice", nil).want(t, 200, nil); bytes.Contains(a.body, []byte("3.25")) {
		t.Errorf("GET /practice shows us theirs: %s", a.body)
	}
	// The same id and the same file under two firms are two things.
	ours.send("POST", "/jobs", []byte(`{"id":"`+job.String()+`","name":"ours","zone":"UTC"}`)).want(t, 201, nil)
	if p := ours.state(job); p.Seq != 0 {
		t.Errorf("our job of the same id has %d events, want none", p.Seq)
	}
	ours.send("PUT", photo, jpeg, "Content-Type", "image/jpeg").want(t, 200, nil)
	ours.send("GET", photo, nil).want(t, 200, nil)
}

func TestUnauthorized(t *testing.T) {
	s := newSite(t)
	c, stranger := s.firm("Level Best"), s.firm("Plumb & Sons")
	mine, theirs := strings.Split(c.token, "_"), strings.Split(stranger.token, "_")
	for name, header := range map[string]string{
		"None":         "",
		"Basic":        "Basic " + c.token,
		"Empty":        "Bearer ",
		"NotAToken":    "Bearer secret",
		"OtherSecret":  "Bearer " + c.token[:len(c.token)-4] + "0000",
		"FirmsSwapped": "Bearer rl_" + theirs[1] + "_" + mine[2],
		"NoFirm":       "Bearer rl_" + strings.Repeat("0", 32) + "_" + mine[2],
	} {
		t.Run(name, func(t *testing.T) {
			a := c.send("GET", "/jobs", nil, "Authorization", header)
			a.problem(t, 401, "")
			if !strings.HasPrefix(a.header.Get("WWW-Authenticate"), "Bearer") {
				t.Errorf("WWW-Authenticate = %q", a.header.Get("WWW-Authenticate"))
			}
		})
	}
}
