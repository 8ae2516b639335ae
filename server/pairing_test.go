package server_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// A code lets one device in, once; what it got opens the firm and no other, until
// it is revoked.
func TestPairing(t *testing.T) {
	s := newSite(t)
	c, stranger := s.firm("Level Best"), s.firm("Plumb & Sons")
	var made struct{ Code, Token string }
	c.send("POST", "/pairings", nil).want(t, 201, &made)
	var paired struct {
		Token string
		Firm  struct{ Name string }
	}
	nobody := &caller{t: t, url: s.URL}
	nobody.send("POST", "/pair", []byte(`{"code":"`+strings.ToLower(made.Code)+`","device":"Mere's phone"}`)).want(t, 201, &paired)
	if paired.Firm.Name != "Level Best" {
		t.Errorf("paired with %q", paired.Firm.Name)
	}
	nobody.send("POST", "/pair", []byte(`{"code":"`+made.Code+`","device":"another"}`)).problem(t, 422, "code")
	nobody.send("POST", "/pair", []byte(`{"code":"ABCD","device":"another"}`)).problem(t, 422, "code")
	nobody.send("POST", "/pair", []byte(`{"code":"ABCD-EFGH","device":""}`)).problem(t, 422, "device")
	phone := &caller{t: t, url: s.URL, token: paired.Token, firm: c.firm}
	var devices struct {
		Devices []struct {
			ID, Name, Scope string
			This            bool
		}
	}
	phone.send("GET", "/devices", nil).problem(t, 403, "")
	c.get("/devices", &devices)
	if len(devices.Devices) != 2 || devices.Devices[0].Name != "Mere's phone" || devices.Devices[0].Scope != "phone" || devices.Devices[0].This || !devices.Devices[1].This {
		t.Fatalf("%+v", devices)
	}
	id := devices.Devices[0].ID
	stranger.send("POST", "/devices/"+id+"/revoke", nil).problem(t, 404, "")
	phone.send("POST", "/devices/"+id+"/revoke", nil).problem(t, 403, "")
	c.send("POST", "/devices/"+devices.Devices[1].ID+"/revoke", nil).problem(t, 409, "")
	phone.get("/phone", nil)
	c.send("POST", "/devices/"+id+"/revoke", nil).want(t, 204, nil)
	phone.send("GET", "/phone", nil).problem(t, 401, "")
	c.send("POST", "/devices/nothing/revoke", nil).problem(t, 404, "")
}

// Nobody tries one code after the other: an address soon has to wait, and the
// answer is the same whether a code is wrong or over.
func TestPairingIsNotGuessed(t *testing.T) {
	s := newSite(t)
	nobody := &caller{t: t, url: s.URL}
	last := 0
	for range 20 {
		last = nobody.send("POST", "/pair", []byte(`{"code":"ABCD-EFGH","device":"another"}`)).status
	}
	if last != http.StatusTooManyRequests {
		t.Errorf("the twentieth code in a moment answers %d", last)
	}
}

// The office shows a code on its page, a phone without access types it on its own.
func TestPairingPages(t *testing.T) {
	s := newSite(t)
	b := newBrowser(t, s)
	says(t, b.get("/people"), `href="/devices"`)
	says(t, b.get("/enter"), `href="/pair"`)
	_, page, _ := b.post("/devices", url.Values{})
	code := regexp.MustCompile(`<b>([2-9A-Z]{4}-[2-9A-Z]{4})</b>`).FindStringSubmatch(page)
	if code == nil {
		t.Fatalf("no code on the page")
	}
	phone := newBrowser(t, s) // of another firm until it pairs
	phone.post("/leave", url.Values{})
	says(t, phone.get("/pair"), "A name for this device")
	status, body, _ := phone.post("/pair", url.Values{"code": {"ABCD-EFG0"}, "device": {"Mere's phone"}})
	if status != 422 || !strings.Contains(body, "each opens once") || !strings.Contains(body, `value="Mere&#39;s phone"`) {
		t.Errorf("a wrong code: %d", status)
	}
	if _, body, at := phone.post("/pair", url.Values{"code": {code[1]}, "device": {"Mere's phone"}}); at.Path != "/" {
		t.Fatalf("paired, and at %s: %s", at, body)
	}
	page = b.get("/devices")
	says(t, page, "Mere&#39;s phone", "this one")
	id := regexp.MustCompile(`name="device" value="([0-9a-f-]+)"`).FindStringSubmatch(page)
	b.post("/devices/revoke", url.Values{"device": {id[1]}})
	says(t, b.get("/devices"), "revoked")
	if page := phone.get("/"); !strings.Contains(page, `href="/pair"`) {
		t.Error("revoked, and the phone is not asked to enter")
	}
}
