package server_test

import (
	"crypto/rand"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"strings"
	"testing"
	"time"

	"relevel/jobs"
	"relevel/jobs/pgjobs"
)

const goodPassword = "wattle stump level bearer"

func newClient(t *testing.T) *http.Client {
	t.Helper()
	jar, err := cookiejar.New(nil)
	must(t, err)
	return &http.Client{Jar: jar}
}

// try asks and does not mind what comes.
func (b *browser) try(method, path string) (status int, body string, at *url.URL) {
	b.t.Helper()
	r, err := http.NewRequestWithContext(b.t.Context(), method, b.site.URL+path, nil)
	must(b.t, err)
	return b.do(r)
}

func (b *browser) postForm(path string, form url.Values) (status int, body string, at *url.URL) {
	b.t.Helper()
	r, err := http.NewRequestWithContext(b.t.Context(), "POST", b.site.URL+path, strings.NewReader(form.Encode()))
	must(b.t, err)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return b.do(r)
}

// api asks the API as a page's script does.
func (b *browser) api(method, path string) int {
	b.t.Helper()
	r, err := http.NewRequestWithContext(b.t.Context(), method, b.site.URL+path, nil)
	must(b.t, err)
	resp, err := b.client.Do(r)
	must(b.t, err)
	resp.Body.Close()
	return resp.StatusCode
}

// tokenOf is the same firm by another token.
func (c *caller) tokenOf(scope jobs.Scope) *caller {
	c.t.Helper()
	text, hash, err := jobs.NewToken(c.firm, rand.Reader)
	must(c.t, err)
	must(c.t, pgjobs.New(sharedDB(c.t).App).CreateToken(c.t.Context(), jobs.Token{Firm: c.firm, ID: newID(c.t), Hash: hash, Name: "another", Scope: scope, CreatedAt: time.Now()}))
	other := *c
	other.token = text
	return &other
}

// invited makes a person of the browser's firm and a link for them.
func (b *browser) invited(t *testing.T, role jobs.Role) (p jobs.Person, link string) {
	t.Helper()
	p = jobs.Person{Firm: b.caller.firm, ID: newID(t), Name: "Tama " + string(role), Role: role, CreatedAt: time.Now()}
	must(t, pgjobs.New(b.site.db.App).CreatePerson(t.Context(), p))
	status, body, _ := b.postForm("/people/"+p.ID.String()+"/link", nil)
	_, rest, found := strings.Cut(body, "/invitation#")
	if status != http.StatusCreated || !found {
		t.Fatalf("no link: %d %s", status, body)
	}
	link, _, _ = strings.Cut(rest, `"`)
	return p, link
}

// joinedBy is another browser of the same firm, in which somebody of a role has made
// their account.
func (b *browser) joinedBy(t *testing.T, role jobs.Role) *browser {
	t.Helper()
	p, link := b.invited(t, role)
	other := &browser{t: t, site: b.site, caller: b.caller, job: b.job, person: p.ID, client: newClient(t)}
	status, body, at := other.postForm("/invitation/accept", url.Values{"link": {link}, "email": {other.email()}, "password": {goodPassword}})
	if status != 200 || at.Path != "/" {
		t.Fatalf("accepting: %d at %s: %s", status, at, body)
	}
	return other
}

func (b *browser) email() string { return b.person.String() + "@example.com" }

// signIn signs in on a browser.
func (b *browser) signIn(email, password string) (status int, body string, at *url.URL) {
	b.t.Helper()
	return b.postForm("/enter", url.Values{"email": {email}, "password": {password}})
}

func (b *browser) isIn() bool {
	b.t.Helper()
	_, _, at := b.try("GET", "/")
	return at.Path == "/"
}

// A link is looked at, used once, and then signs nobody in; the secret reaches no log
// and no trail.
func TestInvitation(t *testing.T) {
	desk := newBrowser(t, newSite(t))
	p, link := desk.invited(t, jobs.SiteLead)
	guest := &browser{t: t, site: desk.site, client: newClient(t)}
	says(t, guest.get("/invitation"), `id="link"`)
	_, page, _ := guest.postForm("/invitation", url.Values{"link": {desk.site.URL + "/invitation#" + link}})
	says(t, page, "Level &amp; Sons invites you, Tama site-lead", `name="email"`)
	for field, form := range map[string]url.Values{
		"email":    {"email": {"nobody"}, "password": {goodPassword}},
		"password": {"email": {"tama@example.com"}, "password": {"short"}},
	} {
		form.Set("link", link)
		status, page, _ := guest.postForm("/invitation/accept", form)
		if status != 422 || !strings.Contains(page, `id="`+field+`-wrong"`) || !strings.Contains(page, form.Get("email")) {
			t.Errorf("a wrong %s: %d", field, status)
		}
	}
	form := url.Values{"link": {link}, "email": {" Tama." + p.ID.String() + "@Example.com"}, "password": {goodPassword}}
	if status, _, at := guest.postForm("/invitation/accept", form); status != 200 || at.Path != "/" {
		t.Fatalf("%d at %s", status, at)
	}
	says(t, guest.get("/account"), "Tama site-lead", "tama."+p.ID.String()+"@example.com", "this one")
	for _, path := range []string{"/invitation", "/invitation/accept"} {
		if status, page, _ := guest.postForm(path, form); status != 422 || !strings.Contains(page, "This link was used") {
			t.Errorf("%s again: %d", path, status)
		}
	}
	trail := desk.get("/trail")
	says(t, trail, "link made: Tama site-lead, invited", "link used, invited", "signed in, by a link")
	secret := link[strings.Index(link, "_")+1:]
	for name, text := range map[string]string{"the log": desk.site.log.String(), "the trail": trail} {
		if strings.Contains(text, secret) || strings.Contains(text, goodPassword) || strings.Contains(text, "tama."+p.ID.String()) {
			t.Errorf("%s holds a secret or an address", name)
		}
	}
}

// The first person names the firm.
func TestFirstPerson(t *testing.T) {
	s := newSite(t)
	c := s.firm("A new firm")
	store := pgjobs.New(s.db.App)
	secret, hash, err := jobs.NewInvitation(c.firm, rand.Reader)
	must(t, err)
	now := time.Now()
	must(t, store.CreateInvitation(t.Context(), jobs.Invitation{Firm: c.firm, ID: newID(t), Hash: hash, Purpose: jobs.First, CreatedAt: now, ExpiresAt: now.Add(time.Hour)}))
	b := &browser{t: t, site: s, client: newClient(t)}
	_, page, _ := b.postForm("/invitation", url.Values{"link": {secret}})
	says(t, page, "The firm’s name", "Words of the trade")
	form := url.Values{"link": {secret}, "firm": {""}, "words": {"NZ"}, "name": {"Mere Kohu"}, "email": {c.firm.String() + "@example.com"}, "password": {goodPassword}}
	status, page, _ := b.postForm("/invitation/accept", form)
	if status != 422 || !strings.Contains(page, `id="firm-wrong"`) || !strings.Contains(page, "Mere Kohu") {
		t.Errorf("without a name: %d %s", status, page)
	}
	form.Set("firm", "Level Best")
	if status, page, at := b.postForm("/invitation/accept", form); status != 200 || at.Path != "/" || !strings.Contains(page, "Level Best") {
		t.Fatalf("%d at %s: %s", status, at, page)
	}
	says(t, b.get("/people"), "Mere Kohu", "office")
}

// Sessions are listed and ended, by oneself, by another password, and when one leaves.
func TestSessionsEnd(t *testing.T) {
	desk := newBrowser(t, newSite(t))
	tama := desk.joinedBy(t, jobs.CrewHand)
	other := &browser{t: t, site: desk.site, client: newClient(t)}
	again := func() {
		t.Helper()
		if _, _, at := other.signIn(tama.email(), goodPassword); at.Path != "/" || !other.isIn() {
			t.Fatalf("signing in leads to %s", at)
		}
	}
	again()
	says(t, tama.get("/account"), "End all others")
	tama.postForm("/account/sessions/end", nil)
	if other.isIn() || !tama.isIn() {
		t.Error("the others were not ended, or one's own was")
	}
	again()
	const better = "jarrah pier shim datum"
	if status, page, _ := tama.postForm("/account/password", url.Values{"present": {"wrong"}, "password": {better}}); status != 422 || !strings.Contains(page, `id="present-wrong"`) {
		t.Errorf("with a wrong password of now: %d", status)
	}
	tama.postForm("/account/password", url.Values{"present": {goodPassword}, "password": {better}})
	if other.isIn() || !tama.isIn() {
		t.Error("another password ends not the others, or one's own")
	}
	if status, _, _ := other.signIn(tama.email(), goodPassword); status != 422 {
		t.Errorf("the old password answers %d", status)
	}
	desk.postForm("/people/"+tama.person.String()+"/leave", nil)
	if tama.isIn() {
		t.Error("who left is still in")
	}
	if status, _, _ := other.signIn(tama.email(), better); status != 422 {
		t.Errorf("who left signs in: %d", status)
	}
	says(t, desk.get("/people/"+tama.person.String()), "Take back", "left")
	desk.postForm("/people/"+tama.person.String()+"/return", nil)
	says(t, desk.get("/people/"+tama.person.String()), "has no account", "Invite")
	says(t, desk.get("/trail?who="+tama.person.String()), "left: Tama", "came back: Tama", "password changed", "sign-in failed: Tama")
}

// A role counts from the next request on; the last of the office stays.
func TestRoleChanges(t *testing.T) {
	desk := newBrowser(t, newSite(t))
	boss, tama := desk.joinedBy(t, jobs.Office), desk.joinedBy(t, jobs.CrewHand)
	role := func(by, of *browser, role string) int {
		status, _, _ := by.postForm("/people/"+of.person.String()+"/role", url.Values{"role": {role}})
		return status
	}
	if status := role(boss, boss, "crew-hand"); status != http.StatusConflict {
		t.Errorf("the last of the office becomes a hand: %d", status)
	}
	if status, _, _ := boss.postForm("/people/"+boss.person.String()+"/leave", nil); status != http.StatusConflict {
		t.Errorf("the last of the office leaves: %d", status)
	}
	if role(boss, tama, "office") != 200 {
		t.Error("no promotion")
	}
	tama.get("/people")
	if role(tama, boss, "site-lead") != 200 {
		t.Error("another is there, and still nobody may go")
	}
	if status, _, _ := boss.try("GET", "/people"); status != http.StatusForbidden {
		t.Errorf("a site lead sees the people: %d", status)
	}
	if status, _, _ := tama.postForm("/people/"+boss.person.String()+"/role", url.Values{"role": {"king"}}); status != 422 {
		t.Errorf("a role that is none: %d", status)
	}
}

// What is recorded at the desk carries who is signed in.
func TestRecordsCarryWhoIsSignedIn(t *testing.T) {
	desk := newBrowser(t, newSite(t))
	tama := desk.joinedBy(t, jobs.CrewHand)
	says(t, tama.get(tama.page("/record/note")), `<input type="hidden" name="recorder" value="`+tama.person.String()+`">`)
}

// A token is made, opens, and is revoked; a session that came of it ends too.
func TestTokensPage(t *testing.T) {
	desk := newBrowser(t, newSite(t))
	_, page, _ := desk.postForm("/tokens", url.Values{"name": {"the accounts"}, "scope": {"everything"}})
	_, rest, found := strings.Cut(page, "<code>")
	text, _, _ := strings.Cut(rest, "</code>")
	if !found {
		t.Fatal(page)
	}
	if again := desk.get("/tokens"); strings.Contains(again, text) || !strings.Contains(again, "the accounts") {
		t.Error("the list holds the token, or not its name")
	}
	other := &browser{t: t, site: desk.site, client: newClient(t)}
	other.postForm("/enter", url.Values{"token": {text}})
	says(t, other.get("/account"), "Nobody in particular", "the accounts")
	_, rest, _ = strings.Cut(desk.get("/tokens"), `name="token" value="`)
	id, _, _ := strings.Cut(rest, `"`)
	desk.postForm("/tokens/revoke", url.Values{"token": {id}})
	if other.isIn() {
		t.Error("the session of a token that was revoked goes on")
	}
	for field, form := range map[string]url.Values{"name": {"scope": {"read"}}, "scope": {"name": {"x"}, "scope": {"phone"}}} {
		if status, page, _ := desk.postForm("/tokens", form); status != 422 || !strings.Contains(page, "is-wrong") {
			t.Errorf("a wrong %s: %d", field, status)
		}
	}
}

// Who saw a job is noted once a day, whoever it was and on whichever server.
func TestTrailOfWhoSawWhat(t *testing.T) {
	s := newSite(t)
	desk := newBrowser(t, s)
	tama := desk.joinedBy(t, jobs.CrewHand)
	for range 3 {
		tama.get(tama.page("/book"))
	}
	elsewhere := *tama
	elsewhere.site = newSiteOn(t, s.db)
	from, err := url.Parse(s.URL)
	must(t, err)
	there, err := url.Parse(elsewhere.site.URL)
	must(t, err)
	tama.client.Jar.SetCookies(there, tama.client.Jar.Cookies(from))
	elsewhere.get(elsewhere.page(""))
	elsewhere.site.app.Close() // what it noted is written
	page := desk.get("/trail?what=saw+a+job&who=" + tama.person.String())
	if n := strings.Count(page, "saw a job: "); n != 1 {
		t.Errorf("noted %d times: %s", n, page)
	}
	if status, _, _ := desk.try("GET", "/trail?until=never"); status != 422 {
		t.Errorf("a day that is none: %d", status)
	}
}
