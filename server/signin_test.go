package server_test

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/jobs"
	"relevel/server"
	"relevel/server/passwords"
)

// sessionOf signs in and returns what the browser keeps.
func sessionOf(t *testing.T, s *site, form url.Values) string {
	t.Helper()
	once := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	resp, err := once.Post(s.URL+"/enter", "application/x-www-form-urlencoded", strings.NewReader(form.Encode()))
	must(t, err)
	resp.Body.Close()
	for _, cookie := range resp.Cookies() {
		if cookie.Name == "relevel" {
			return cookie.Value
		}
	}
	t.Fatalf("no session: %d", resp.StatusCode)
	return ""
}

// seen is what somebody who tries a name can see, and the work that it took.
type seen struct {
	status int
	body   string
	header string
	hashes int64
}

// Neither the answer nor the work tells whether a name is somebody's: for one that is
// nobody's as many hashes are reckoned, and the page is the same to the letter.
func TestSignInTellsNothing(t *testing.T) {
	hasher := passwords.New(4)
	s := newSite(t, func(c *server.Config) {
		c.Passwords = hasher
		c.Limits.Doors = 1000
	})
	desk, two := newBrowser(t, s), newBrowser(t, s)
	one := desk.joinedBy(t, jobs.CrewHand)
	_, link := two.invited(t, jobs.CrewHand) // of another firm, under the same name
	two.postForm("/invitation/accept", url.Values{"link": {link}, "email": {one.email()}, "password": {"another password altogether"}})
	gone := desk.joinedBy(t, jobs.CrewHand)
	desk.postForm("/people/"+gone.person.String()+"/leave", nil)
	invited, _ := desk.invited(t, jobs.CrewHand)

	attempt := func(email, password string) seen {
		before := hasher.Done()
		resp, err := http.PostForm(s.URL+"/enter", url.Values{"email": {email}, "password": {password}})
		must(t, err)
		defer resp.Body.Close()
		body, err := io.ReadAll(resp.Body)
		must(t, err)
		resp.Header.Del("X-Request-Id")
		resp.Header.Del("Date")
		resp.Header.Del("Content-Length")
		return seen{resp.StatusCode, strings.ReplaceAll(string(body), email, "EMAIL"), fmt.Sprint(resp.Header), hasher.Done() - before}
	}
	nobody := attempt("nobody@example.com", "four words too many")
	if nobody.status != http.StatusUnprocessableEntity || nobody.hashes != 1 {
		t.Fatalf("nobody: %d after %d hashes", nobody.status, nobody.hashes)
	}
	for name, email := range map[string]string{"somebody": one.email(), "of a firm's people without an account": invited.ID.String() + "@example.com", "who left": gone.email()} {
		for range 3 {
			if diff := cmp.Diff(nobody, attempt(email, "four words too many"), cmp.AllowUnexported(seen{})); diff != "" {
				t.Errorf("%s (-nobody +somebody):\n%s", name, diff)
			}
		}
	}
	if right := attempt(one.email(), goodPassword); right.hashes != 1 {
		t.Errorf("the right one takes %d hashes", right.hashes)
	}
}

// A reset that is asked for tells nothing either, and the letter brings a link.
func TestResetTellsNothing(t *testing.T) {
	post := &postbag{letters: make(chan server.Letter, 4)}
	s := newSite(t, func(c *server.Config) { c.Mail, c.URL = post, "https://levels.example" })
	one := newBrowser(t, s).joinedBy(t, jobs.CrewHand)
	stranger := &browser{t: t, site: s, client: newClient(t)}
	says(t, stranger.get("/enter"), `href="/reset"`)
	_, known, _ := stranger.postForm("/reset", url.Values{"email": {one.email()}})
	letter := <-post.letters
	_, unknown, _ := stranger.postForm("/reset", url.Values{"email": {"nobody@example.com"}})
	if diff := cmp.Diff(strings.ReplaceAll(known, one.email(), "EMAIL"), strings.ReplaceAll(unknown, "nobody@example.com", "EMAIL")); diff != "" {
		t.Error(diff)
	}
	_, rest, found := strings.Cut(letter.Text, "https://levels.example/invitation#")
	link, _, _ := strings.Cut(rest, "\n")
	if !found {
		t.Fatalf("the letter says %q", letter.Text)
	}
	_, page, _ := stranger.postForm("/invitation", url.Values{"link": {link}})
	says(t, page, "A new password", one.email())
	if _, _, at := stranger.postForm("/invitation/accept", url.Values{"link": {link}, "password": {"jarrah pier shim datum"}}); at.Path != "/" {
		t.Errorf("the link leads to %s", at)
	}
	if one.isIn() {
		t.Error("another password leaves the old session open")
	}
	// Asked for again and again, no more than two letters come.
	for range 4 {
		stranger.postForm("/reset", url.Values{"email": {one.email()}})
	}
	s.end()
	if n := len(post.letters); n != 1 {
		t.Errorf("%d letters more", n)
	}
}

// postbag takes letters.
type postbag struct{ letters chan server.Letter }

func (p *postbag) Send(_ context.Context, _ string, l server.Letter) error {
	p.letters <- l
	return nil
}

// Whoever tries a name again and again has to wait, from whatever address; its owner,
// on a browser where they signed in before, does not.
func TestLockoutLocksNobodyOut(t *testing.T) {
	var at atomic.Uint32
	s := newSite(t, func(c *server.Config) { c.Proxies = []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")} })
	owner := newBrowser(t, s).joinedBy(t, jobs.CrewHand)
	owner.postForm("/leave", nil)
	attempt := func(b *browser, email, password string) int {
		t.Helper()
		r, err := http.NewRequestWithContext(t.Context(), "POST", s.URL+"/enter", strings.NewReader(url.Values{"email": {email}, "password": {password}}.Encode()))
		must(t, err)
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("X-Forwarded-For", fmt.Sprintf("192.0.2.%d", at.Add(1)))
		status, _, _ := b.do(r)
		return status
	}
	stranger := &browser{t: t, site: s, client: newClient(t)}
	last := 0
	for range 15 {
		last = attempt(stranger, owner.email(), "four words too many")
	}
	if last != http.StatusTooManyRequests {
		t.Fatalf("the fifteenth try from a fifteenth address answers %d", last)
	}
	// For a name that is nobody's it is the same.
	for range 15 {
		last = attempt(stranger, "nobody@example.com", "four words too many")
	}
	if last != http.StatusTooManyRequests {
		t.Errorf("the fifteenth try of nobody's name answers %d", last)
	}
	if status := attempt(owner, owner.email(), goodPassword); status != http.StatusOK || !owner.isIn() {
		t.Errorf("the owner is answered %d where they signed in before", status)
	}
	// A made-up mark of a browser is no way round.
	forged := &browser{t: t, site: s, client: newClient(t)}
	u, err := url.Parse(s.URL)
	must(t, err)
	forged.client.Jar.SetCookies(u, []*http.Cookie{{Name: "relevel-browser", Value: strings.Repeat("ab", 32), Path: "/"}})
	if status := attempt(forged, owner.email(), goodPassword); status != http.StatusTooManyRequests {
		t.Errorf("with a made-up mark it answers %d", status)
	}
}

// One address may not go through many names. They come at once: a slow machine would
// else have given the address another try before the last of them.
func TestManyNamesFromOneAddress(t *testing.T) {
	s := newSite(t)
	const names = 30
	answers := make(chan int, names)
	for i := range names {
		go func() {
			resp, err := http.PostForm(s.URL+"/enter", url.Values{"email": {fmt.Sprintf("nobody%d@example.com", i)}, "password": {"four words too many"}})
			if err != nil {
				t.Error(err)
				answers <- 0
				return
			}
			resp.Body.Close()
			answers <- resp.StatusCode
		}()
	}
	count := map[int]int{}
	for range names {
		count[<-answers]++
	}
	if count[http.StatusTooManyRequests] == 0 || count[http.StatusUnprocessableEntity] < 20 || len(count) != 2 {
		t.Errorf("%d names at once are answered %v", names, count)
	}
}

// A name that opens several firms with one password asks which.
func TestOneNameOfTwoFirms(t *testing.T) {
	s := newSite(t)
	one := newBrowser(t, s).joinedBy(t, jobs.CrewHand)
	two := newBrowser(t, s)
	_, link := two.invited(t, jobs.CrewHand)
	b := &browser{t: t, site: s, client: newClient(t)}
	b.postForm("/invitation/accept", url.Values{"link": {link}, "email": {one.email()}, "password": {goodPassword}})
	b.postForm("/leave", nil)
	status, page, _ := b.signIn(one.email(), goodPassword)
	if status != 200 || b.isIn() || strings.Count(page, `type="radio"`) != 2 {
		t.Fatalf("%d %s", status, page)
	}
	if _, _, at := b.postForm("/enter", url.Values{"email": {one.email()}, "password": {goodPassword}, "firm": {two.caller.firm.String()}}); at.Path != "/" || !b.isIn() {
		t.Errorf("choosing one leads to %s", at)
	}
}

// A session that ended on one server is over on the other, too.
func TestSessionsOfTwoServers(t *testing.T) {
	s := newSite(t)
	tama := newBrowser(t, s).joinedBy(t, jobs.CrewHand)
	other := newSiteOn(t, s.db)
	session := sessionOf(t, s, url.Values{"email": {tama.email()}, "password": {goodPassword}})
	ask := func() int {
		c := &caller{t: t, url: other.URL}
		return c.send("GET", "/jobs", nil, "Authorization", "", "Cookie", "relevel="+session).status
	}
	if status := ask(); status != 200 {
		t.Fatalf("the other server answers %d", status)
	}
	tama.postForm("/account/sessions/end", nil)
	if status := ask(); status != http.StatusUnauthorized {
		t.Errorf("ended, it answers %d", status)
	}
}
