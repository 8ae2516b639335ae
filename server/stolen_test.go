package server_test

import (
	"fmt"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"relevel/jobs"
	"relevel/jobs/pgjobs"
	"relevel/server"
)

// from sends a form as if it came from some address, with a mark of a browser.
func (b *browser) from(address, mark, path string, form url.Values) int {
	b.t.Helper()
	r, err := http.NewRequestWithContext(b.t.Context(), "POST", b.site.URL+path, strings.NewReader(form.Encode()))
	must(b.t, err)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("X-Forwarded-For", address)
	if mark != "" {
		b.client.Jar.SetCookies(r.URL, []*http.Cookie{{Name: "relevel-browser", Value: mark, Path: "/"}})
	}
	status, _, _ := b.do(r)
	return status
}

// behindProxies believes what the tests say about where a request comes from.
func behindProxies(c *server.Config) {
	c.Proxies = []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}
}

// Whoever took a session over may not go through passwords with it, whatever mark of a
// browser they make up and from wherever they come.
func TestStolenSessionGuessesNoPassword(t *testing.T) {
	s := newSite(t, behindProxies)
	tama := newBrowser(t, s).joinedBy(t, jobs.CrewHand)
	last := 0
	for i := range 15 {
		last = tama.from(fmt.Sprintf("192.0.2.%d", i), fmt.Sprintf("%064x", i), "/account/password",
			url.Values{"present": {"four words too many"}, "password": {"jarrah pier shim datum"}})
	}
	if last != http.StatusTooManyRequests {
		t.Errorf("the fifteenth try answers %d", last)
	}
}

// An account that another firm made under somebody's name is no way round the limits
// on theirs, on however many browsers its owner signs in.
func TestNamesakeOfAnotherFirm(t *testing.T) {
	s := newSite(t, behindProxies)
	tama := newBrowser(t, s).joinedBy(t, jobs.CrewHand)
	_, link := newBrowser(t, s).invited(t, jobs.CrewHand)
	rival := &browser{t: t, site: s, client: newClient(t)}
	rival.postForm("/invitation/accept", url.Values{"link": {link}, "email": {tama.email()}, "password": {"another password altogether"}})
	rival.postForm("/leave", nil)
	stranger := &browser{t: t, site: s, client: newClient(t)}
	for i := range 15 {
		stranger.from(fmt.Sprintf("192.0.2.%d", i), "", "/enter", url.Values{"email": {tama.email()}, "password": {"four words too many"}})
	}
	if status := rival.from("192.0.2.99", "", "/enter", url.Values{"email": {tama.email()}, "password": {goodPassword}}); status != http.StatusTooManyRequests || rival.isIn() {
		t.Errorf("the namesake's browser is answered %d", status)
	}
	if status := rival.from("192.0.2.99", "", "/enter", url.Values{"email": {tama.email()}, "password": {"another password altogether"}}); status != http.StatusOK || !rival.isIn() {
		t.Errorf("their own account answers %d", status)
	}
}

// A browser that somebody left signed in adds nothing that opens their account after
// they have ended its session.
func TestStolenSessionStaysOut(t *testing.T) {
	var later atomic.Int64
	s := newSite(t, func(c *server.Config) {
		c.Now = func() time.Time { return time.Now().Add(time.Duration(later.Load())) }
	})
	tama := newBrowser(t, s).joinedBy(t, jobs.CrewHand)
	options := func() int { return tama.api("POST", "/account/passkeys/options") }
	if status := options(); status == http.StatusForbidden {
		t.Error("who has just signed in may add no passkey")
	}
	later.Store(int64(11 * time.Minute))
	if status := options(); status != http.StatusForbidden {
		t.Errorf("eleven minutes later a passkey is answered %d", status)
	}
	// Where there is no password to give, setting one takes a new sign-in as well.
	store := pgjobs.New(s.db.App)
	account, err := store.FindAccount(t.Context(), tama.caller.firm, tama.person)
	must(t, err)
	sessions, err := store.ListSessions(t.Context(), account.Firm, account.Person, time.Now())
	must(t, err)
	account.Password = ""
	must(t, store.SaveAccount(t.Context(), account, sessions[0].ID, time.Now()))
	if status, _, _ := tama.postForm("/account/password", url.Values{"password": {"jarrah pier shim datum"}}); status != http.StatusForbidden {
		t.Errorf("a first password is answered %d", status)
	}
}
