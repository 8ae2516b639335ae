package server_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// What makes no sense in the form is said beside it, and what was typed stays.
func TestShareFormWrong(t *testing.T) {
	b := newBrowser(t, newSite(t))
	for field, wrong := range map[string]url.Values{
		"name":  {"name": {""}, "until": {"2040-03-02"}},
		"until": {"name": {"Mere"}, "until": {"2020-03-02"}},
		"up_to": {"name": {"Mere"}, "until": {"2040-03-02"}, "up_to": {"7000"}},
	} {
		form := hidden(b.get(b.page("/shares")))
		for name, values := range wrong {
			form[name] = values
		}
		status, body, _ := b.post(b.page("/shares"), form)
		if status != http.StatusUnprocessableEntity || !strings.Contains(body, `id="`+field+`-wrong"`) || !strings.Contains(body, `value="`+wrong.Get("until")+`"`) {
			t.Errorf("%s: status %d: %s", field, status, body)
		}
	}
	form := hidden(b.get(b.page("/shares")))
	form.Set("name", "Mere")
	form.Set("until", "2040-03-02")
	b.post(b.page("/shares"), form)
	if status, _, at := b.post(b.page("/shares"), form); status != http.StatusOK || at.Path != b.page("/shares") {
		t.Errorf("sent again: status %d at %s", status, at)
	}
	if n := strings.Count(b.get(b.page("/shares")), "Revoke the link for Mere"); n != 1 {
		t.Errorf("sent again it makes %d links", n)
	}
}

// Programs make links, list them and revoke them; one that only reads does not.
func TestSharesByAPI(t *testing.T) {
	s := newSite(t)
	b := newBrowser(t, s)
	at := "/jobs/" + b.job.String() + "/shares"
	var made struct {
		ID         events.ID
		Link, Code string
		ExpiresAt  time.Time `json:"expires_at"`
	}
	b.caller.send("POST", at, []byte(`{"name":"the owner","up_to":1}`)).want(t, http.StatusCreated, &made)
	link := shownLink.FindStringSubmatch(made.Link)
	if link == nil || jobs.ShareCode(link[2]) != made.Code || made.ExpiresAt.Before(time.Now().AddDate(0, 11, 0)) {
		t.Fatalf("made %+v", made)
	}
	o := (&owner{t: t, url: s.URL, address: "/s/" + link[1], secret: link[2]}).opened()
	shows(t, o.see(""), "14 Wattle Street")
	var list struct{ Shares []map[string]any }
	a := b.caller.send("GET", at, nil).want(t, http.StatusOK, &list)
	if len(list.Shares) != 1 || list.Shares[0]["opened"] != 1.0 || list.Shares[0]["up_to"] != 1.0 || strings.Contains(string(a.body), "code") {
		t.Errorf("listed %s", a.body)
	}
	b.caller.send("POST", at, []byte(`{"name":""}`)).problem(t, http.StatusUnprocessableEntity, "name")
	b.caller.send("POST", at, []byte(`{"name":"x","up_to":2}`)).problem(t, http.StatusUnprocessableEntity, "up_to")
	b.caller.send("POST", at, []byte(`{"name":"x","expires_at":"2020-01-01T00:00:00Z"}`)).problem(t, http.StatusUnprocessableEntity, "expires_at")
	b.caller.send("POST", "/jobs/"+newID(t).String()+"/shares", []byte(`{"name":"x"}`)).problem(t, http.StatusNotFound, "")
	for _, scope := range []jobs.Scope{jobs.ScopeRead, jobs.ScopePhone} {
		reader := b.caller.tokenOf(scope)
		reader.send("GET", at, nil).problem(t, http.StatusForbidden, "")
		reader.send("POST", at, []byte(`{"name":"x"}`)).problem(t, http.StatusForbidden, "")
	}
	b.caller.send("POST", at+"/"+made.ID.String()+"/revoke", nil).want(t, http.StatusNoContent, nil)
	if a := o.ask("GET", o.address, nil); a.status != http.StatusGone {
		t.Errorf("revoked it answers %d", a.status)
	}
	for _, words := range []string{"owner&#39;s link made", "owner&#39;s link opened", "owner&#39;s link revoked", "the link for the owner"} {
		b.until("/trail", words) // each server of a fleet writes its own a moment later
	}
}
