package server_test

import (
	"encoding/json"
	"fmt"
	"net/url"
	"strings"
	"testing"
)

// An aim stands only on the floor as whoever agreed it has seen it. What came
// between is shown with what was filled in, and sent again it is agreed.
func TestAgreeAnAim(t *testing.T) {
	b := newBrowser(t, newSite(t))
	path := b.page("/record/aim")
	form := hidden(b.get(path))
	for name, value := range map[string]string{"recorder": b.person.String(), "aim": "highest", "left_out": "B1-2", "agreed_by": "the owner",
		"left_out_why": "B1-2: the hearth is not to be touched\n", "agreed_how": "on the signed offer"} {
		form.Set(name, value)
	}
	b.caller.post(b.job, newDevice(t, b.job).raw("note", `{"text":"the hearth is loose"}`))
	status, body, _ := b.post(path, form)
	if status != 409 {
		t.Fatalf("agreed on a floor nobody has seen: status %d: %s", status, body)
	}
	wantWords(t, body, "Not saved: while you had this open, more was recorded", "the hearth is loose", `value="the owner"`, "the hearth is not to be touched")
	wantNone(t, body, "As it was")
	again := hidden(body)
	for name := range form {
		if again.Get(name) == "" {
			again[name] = form[name]
		}
	}
	status, body, at := b.post(path, again)
	if status != 200 || !at.Query().Has("saved") {
		t.Fatalf("agreed once more: status %d: %s", status, body)
	}
	if status, _, at = b.post(path, again); status != 200 || !at.Query().Has("saved") {
		t.Errorf("a second press: status %d at %s, want it saved once", status, at)
	}
	var state struct {
		Seq int64
		Aim struct{ Agreed json.RawMessage }
	}
	b.caller.get("/jobs/"+b.job.String()+"/state", &state)
	if !strings.Contains(string(state.Aim.Agreed), `"left_out_why":[{"support":"B1-2","why":"the hearth is not to be touched"}],`) || state.Seq != 3 {
		t.Errorf("seq %d, agreed %s", state.Seq, state.Aim.Agreed)
	}
	wantWords(t, b.get(path), "B1-2 the hearth is not to be touched")
}

func TestAgreeWithReasonsThatAreNone(t *testing.T) {
	b := newBrowser(t, newSite(t))
	for why, cure := range map[string]string{"B1-2": "on each line a support and why", "B1-1 it is new": "is not left out"} {
		status, body, _ := b.record("aim", "", url.Values{"aim": {"highest"}, "left_out": {"B1-2"}, "left_out_why": {why}, "agreed_by": {"the owner"}})
		if status != 422 || !strings.Contains(body, cure) || !strings.Contains(body, why) {
			t.Errorf("%q: status %d, want 422 with %q", why, status, cure)
		}
	}
}

// Programs decide in the same way.
func TestAppendOnto(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	send := func(seq int64) answer {
		return c.send("POST", "/jobs/"+job.String()+"/events", fmt.Appendf(nil, `{"expected_seq":%d,"events":[%s]}`, seq, d.raw("note", `{"text":"decided"}`)))
	}
	send(3).problem(t, 409, "")
	if got := send(0); got.status != 200 {
		t.Errorf("decided on an empty log: status %d: %s", got.status, got.body)
	}
	send(0).problem(t, 409, "")
}
