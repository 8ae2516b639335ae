package server_test

import (
	"net/url"
	"strings"
	"testing"

	"relevel/jobs"
)

// Whoever is signed in binds nobody else: what a hand records is the hand's own, and a
// lead puts in what others read, but signs and takes back in the lead's own name.
func TestInWhoseName(t *testing.T) {
	desk := newBrowser(t, newSite(t))
	other := desk.another("Una Office", jobs.Office)
	for _, tt := range []struct {
		role       jobs.Role
		kind, fill string
		mayForUna  bool
	}{
		{jobs.CrewHand, "note", "text=dry+below", false},
		{jobs.SiteLead, "note", "text=dry+below", true},
		{jobs.Office, "note", "text=dry+below", true},
		{jobs.SiteLead, "signed", "support=B1-1&scope=support", false},
		{jobs.Office, "aim", "aim=highest", false},
	} {
		b := desk.joinedBy(t, tt.role)
		path := b.page("/record/" + tt.kind)
		page := b.get(path)
		if shown := strings.Contains(page, ">Una Office</option>"); shown != tt.mayForUna {
			t.Errorf("%s, %s: Una Office to choose: %v", tt.role, tt.kind, shown)
		}
		fill, err := url.ParseQuery(tt.fill)
		if err != nil {
			t.Fatal(err)
		}
		form := hidden(page)
		for name, values := range fill {
			form[name] = values
		}
		form.Set("recorder", other.String())
		_, body, at := b.post(path, form)
		if taken := at.Path != path; taken != tt.mayForUna {
			t.Errorf("%s records %s as Una Office: %v at %s", tt.role, tt.kind, taken, at)
		}
		if refused := strings.Contains(body, "you are signed in as "); refused == tt.mayForUna {
			t.Errorf("%s, %s: said so: %v", tt.role, tt.kind, refused)
		}
	}
}

// A go-ahead in the name of one of the firm's people is given by whoever that is.
func TestGoAheadInAnothersName(t *testing.T) {
	desk := newBrowser(t, newSite(t))
	desk.another("Una Office", jobs.Office)
	id, raw := newDevice(t, desk.job).event("stop", `{"why":"crack opened","supports":["B1-2"],"ask":"Una Office"}`)
	desk.caller.post(desk.job, raw)
	hand := desk.joinedBy(t, jobs.CrewHand)
	status, body, _ := hand.reply(hand.page("/stops/"+id.String()), "", url.Values{"who": {"Una Office"}, "why": {"she said so"}})
	if status != 422 || !strings.Contains(body, "gives a go-ahead by signing in") {
		t.Errorf("status %d: %s", status, body)
	}
	if n := len(desk.caller.state(desk.job).Stops); n != 1 {
		t.Errorf("%d stops stand, want the one", n)
	}
}
