package server_test

import (
	"context"
	"encoding/base32"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgdb/localpg"
	"relevel/jobs"
	"relevel/server"
)

// owner is somebody with a link, in a browser that follows nothing by itself.
type owner struct {
	t       *testing.T
	url     string
	address string // /s/…
	secret  string
	id      events.ID
	cookie  *http.Cookie
}

// share makes a link on the job's page.
func (b *browser) share(fill url.Values) *owner {
	b.t.Helper()
	form := hidden(b.get(b.page("/shares")))
	for name, v := range map[string]string{"name": "the owner", "until": time.Now().AddDate(1, 0, 0).Format(time.DateOnly)} {
		form.Set(name, v)
	}
	for name, values := range fill {
		form[name] = values
	}
	status, body, _ := b.post(b.page("/shares"), form)
	link := shownLink.FindStringSubmatch(body)
	if status != http.StatusCreated || link == nil {
		b.t.Fatalf("status %d, want a link: %s", status, body)
	}
	shows(b.t, body, jobs.ShareCode(link[2]))
	_, id, err := jobs.ParseShareAddress(link[1])
	must(b.t, err)
	return &owner{t: b.t, url: b.site.URL, address: "/s/" + link[1], secret: link[2], id: id}
}

// ask asks with the cookie of the visit, if there is one.
func (o *owner) ask(method, path string, form url.Values, headers ...string) answer {
	o.t.Helper()
	r, err := http.NewRequestWithContext(o.t.Context(), method, o.url+path, strings.NewReader(form.Encode()))
	must(o.t, err)
	r.Header.Set("Accept", "text/html")
	if form != nil {
		r.Header.Set("Content-Type", formMedia)
	}
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	if o.cookie != nil {
		r.AddCookie(o.cookie)
	}
	resp, err := stranger.Do(r)
	must(o.t, err)
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	must(o.t, err)
	return answer{resp.StatusCode, resp.Header, body}
}

func (o *owner) tries(secret string, headers ...string) answer {
	o.t.Helper()
	return o.ask("POST", o.address, url.Values{"code": {secret}}, headers...)
}

// opened gives the secret for a visit.
func (o *owner) opened() *owner {
	o.t.Helper()
	a := o.tries(o.secret)
	cookies := (&http.Response{Header: a.header}).Cookies()
	if a.status != http.StatusSeeOther || a.header.Get("Location") != o.address || len(cookies) != 1 {
		o.t.Fatalf("status %d to %q with %d cookies: %s", a.status, a.header.Get("Location"), len(cookies), a.body)
	}
	o.cookie = cookies[0]
	return o
}

func (o *owner) see(path string) string {
	o.t.Helper()
	a := o.ask("GET", o.address+path, nil)
	if a.status != http.StatusOK {
		o.t.Fatalf("GET %s%s: status %d: %s", o.address, path, a.status, a.body)
	}
	return string(a.body)
}

// The office makes a link, its owner opens it and sees the job, and the office sees that
// it was opened. A program that only looks at the address sees nothing of the job and is
// not counted.
func TestOwnersLink(t *testing.T) {
	b := newBrowser(t, newSite(t))
	shows(t, b.get(b.page("/shares")), "No owner has a link to this job yet")
	shows(t, b.get(b.page("/handover")), `href="`+b.page("/shares")+`"`)
	o := b.share(nil)
	for _, secret := range []string{o.secret, strings.ToLower(jobs.ShareCode(o.secret)), o.url + o.address + "#" + o.secret} {
		o.cookie = nil
		if a := o.ask("GET", o.address, nil); a.status != http.StatusOK || strings.Contains(string(a.body), "Wattle") || strings.Contains(string(a.body), "Level") {
			t.Errorf("without a visit: status %d: %s", a.status, a.body)
		}
		o.secret = secret
		o.opened()
	}
	shows(t, o.see(""), "14 Wattle Street", "Work by Level &amp; Sons", "B1-2", "engineer’s certificate", "Close this page on this device")
	hides(t, o.see(""), `href="/jobs`, `href="/people"`, "Day sheet", b.job.String())
	page := b.get(b.page("/shares"))
	shows(t, page, "3 times, last ", "the owner", "all, and what comes")
	hides(t, page, o.secret, jobs.ShareCode(o.secret))

	if o.cookie.Name != "relevel-owner" || o.cookie.Path != o.address || !o.cookie.HttpOnly || o.cookie.SameSite != http.SameSiteLaxMode || o.cookie.MaxAge != int(jobs.VisitLasts/time.Second) {
		t.Errorf("the cookie is %v", o.cookie)
	}
	over := o.tries(o.secret, "X-Forwarded-Proto", "https").header.Get("Set-Cookie")
	if !strings.HasPrefix(over, "__Secure-relevel-owner=") || !strings.Contains(over, "; Secure") || !strings.Contains(over, "; Path="+o.address+";") {
		t.Errorf("over https the cookie is %s", over)
	}
	o.ask("POST", o.address+"/leave", url.Values{})
	shows(t, o.see(""), `id="open-share"`) // the cookie that it had is worth nothing now
}

// What opens a link no longer is told to who has its secret, or has it open, at once.
func TestOwnersLinkOver(t *testing.T) {
	clock := newHandClock()
	s := newSite(t, withClock(clock))
	b := newBrowser(t, s)
	until := clock.now().AddDate(0, 0, 3).Format(time.DateOnly)
	o := b.share(url.Values{"until": {until}}).opened()
	clock.ms.Add(int64(jobs.VisitLasts / time.Millisecond))
	shows(t, o.see(""), `id="open-share"`) // the visit is over, the link is not
	o.opened()
	clock.ms.Add((4 * 24 * time.Hour).Milliseconds())
	if a := o.tries(o.secret); a.status != http.StatusGone || !strings.Contains(string(a.body), "Its time is over") || a.header.Get("Set-Cookie") != "" {
		t.Errorf("past its time: status %d: %s", a.status, a.body)
	}
	shows(t, b.get(b.page("/shares")), "over since ", "2 times, ")

	two := b.share(url.Values{"until": {clock.now().AddDate(0, 1, 0).Format(time.DateOnly)}}).opened()
	shows(t, two.see(""), "14 Wattle Street")
	b.post(b.page("/shares/"+two.id.String()+"/revoke"), nil)
	for name, a := range map[string]answer{"with its secret": two.tries(two.secret), "where it is open": two.ask("GET", two.address, nil)} {
		if a.status != http.StatusGone || !strings.Contains(string(a.body), "Level &amp; Sons has ended it") || strings.Contains(string(a.body), "Wattle") {
			t.Errorf("revoked, %s: status %d: %s", name, a.status, a.body)
		}
	}
	for _, path := range []string{"/photos/" + randomHex(t, 32) + "?size=320", "/changes/" + newID(t).String()} {
		if a := two.ask("GET", two.address+path, nil); a.status == http.StatusOK || strings.Contains(string(a.body), "Wattle") {
			t.Errorf("revoked, %s: status %d", path, a.status)
		}
	}
	shows(t, b.get(b.page("/shares")), "revoked ")
}

// countedStore counts the questions of a store.
type countedStore struct {
	jobs.Store
	opens, finds, others atomic.Int64
}

func (s *countedStore) OpenShare(ctx context.Context, firm, id events.ID, secret events.Digest, v jobs.ShareVisit) (jobs.Share, error) {
	s.opens.Add(1)
	return s.Store.OpenShare(ctx, firm, id, secret, v)
}

func (s *countedStore) FindVisit(ctx context.Context, firm, share events.ID, visit events.Digest, at time.Time) (jobs.Share, error) {
	s.finds.Add(1)
	return s.Store.FindVisit(ctx, firm, share, visit, at)
}

func (s *countedStore) FindFirm(ctx context.Context, id events.ID) (jobs.Firm, error) {
	s.others.Add(1)
	return s.Store.FindFirm(ctx, id)
}

// Neither the answer nor the work tells who has not the secret whether there is such a
// share, and whether it is over: the store is asked one and the same question.
func TestOwnersLinkTellsNothing(t *testing.T) {
	clock := newHandClock()
	counted := &countedStore{}
	s := newSite(t, withClock(clock), func(c *server.Config) { counted.Store = c.Store; c.Store = counted })
	b := newBrowser(t, s)
	soon := url.Values{"until": {clock.now().AddDate(0, 0, 1).Format(time.DateOnly)}}
	later := url.Values{"until": {clock.now().AddDate(0, 1, 0).Format(time.DateOnly)}}
	expired, revoked, open, other := b.share(soon), b.share(later), b.share(later), b.share(later)
	b.post(b.page("/shares/"+revoked.id.String()+"/revoke"), nil)
	clock.ms.Add((3 * 24 * time.Hour).Milliseconds())

	wrong := strings.Repeat("A", 52)
	attempt := func(address, secret string) string {
		counted.opens.Store(0)
		counted.finds.Store(0)
		counted.others.Store(0)
		o := &owner{t: t, url: s.URL, address: address}
		a := o.tries(secret)
		text := strings.ReplaceAll(whole(a), secret, "SECRET")
		return fmt.Sprintf("%s\n%d openings, %d visits, %d others", strings.ReplaceAll(text, address, "ADDRESS"), counted.opens.Load(), counted.finds.Load(), counted.others.Load())
	}
	want := attempt(open.address, wrong)
	shows(t, want, "422", "it opens nothing here", "1 openings, 0 visits, 0 others")
	nobodys := jobs.Share{Firm: newID(t), ID: newID(t)}
	sameFirm := jobs.Share{Firm: b.caller.firm, ID: newID(t)}
	for name, at := range map[string]string{
		"expired": expired.address, "revoked": revoked.address, "nobody's": "/s/" + nobodys.Address(), "none of the firm": "/s/" + sameFirm.Address(), "no address": "/s/nothing", "no firm": "/s/" + jobs.Share{}.Address(),
	} {
		if diff := cmp.Diff(want, attempt(at, wrong)); diff != "" {
			t.Errorf("%s (-open +%s):\n%s", name, name, diff)
		}
	}
	for name, secret := range map[string]string{"of another share": other.secret, "no secret": "QQQ-QQQ", "a visit's": randomHex(t, 32)} {
		if diff := cmp.Diff(want, attempt(open.address, secret)); diff != "" {
			t.Errorf("%s:\n%s", name, diff)
		}
	}
	// What only looks is answered alike, too, and asks nothing.
	page := whole((&owner{t: t, url: s.URL}).ask("GET", open.address, nil))
	for _, at := range []string{expired.address, "/s/" + nobodys.Address(), "/s/nothing"} {
		if diff := cmp.Diff(page, whole((&owner{t: t, url: s.URL}).ask("GET", at, nil))); diff != "" {
			t.Errorf("looking at %s:\n%s", at, diff)
		}
	}
	if n := counted.finds.Load(); n != 0 {
		t.Errorf("who has no visit has the store asked %d times", n)
	}
	shows(t, b.get(b.page("/shares")), "never")
}

// One address may try so often, and others wait for nothing.
func TestOwnersLinkIsLimited(t *testing.T) {
	s := newSite(t, func(c *server.Config) { c.Limits.Doors = 3 })
	b := newBrowser(t, s)
	o := b.share(nil)
	for i := range 5 {
		a := o.tries("nothing")
		if want := map[bool]int{true: http.StatusUnprocessableEntity, false: http.StatusTooManyRequests}[i < 3]; a.status != want {
			t.Errorf("try %d: status %d, want %d", i+1, a.status, want)
		}
	}
	if a := o.tries(o.secret); a.status != http.StatusTooManyRequests || a.header.Get("Retry-After") == "" {
		t.Errorf("the right one after too many: status %d", a.status)
	}
}

// Nothing of a secret is in the log, in the trail, in the store, in an address or in a
// header, whatever goes wrong; and what is seen by a link is kept by no cache, named to
// no other site and listed by no search engine.
func TestOwnersSecretStaysOne(t *testing.T) {
	var failing atomic.Bool
	s := newSite(t, func(c *server.Config) { c.Store = &failingShares{c.Store, &failing} })
	b := newBrowser(t, s)
	o := b.share(nil)
	first := o.tries(o.secret)
	o.opened()
	wrong := o.secret[4:] + o.secret[:4]
	answers := []answer{
		first, o.tries(wrong), o.tries(o.secret + "A"), o.ask("GET", o.address, nil), o.ask("GET", o.address+"?code="+o.secret[:8], nil),
		o.ask("GET", o.address+"/changes/"+newID(t).String(), nil), o.ask("GET", o.address+"/photos/"+randomHex(t, 32)+"?size=320", nil),
		o.ask("PUT", o.address, nil), o.ask("POST", o.address, url.Values{"code": {o.secret}, "more": {strings.Repeat("x", 1<<20)}}),
	}
	failing.Store(true)
	answers = append(answers, o.tries(o.secret), o.ask("GET", o.address, nil))
	failing.Store(false)
	if n := len(answers); answers[n-1].status != http.StatusInternalServerError || answers[n-2].status != http.StatusInternalServerError {
		t.Fatalf("the store did not fail: %d, %d", answers[n-2].status, answers[n-1].status)
	}
	for i, a := range answers {
		for name, want := range map[string]string{"Referrer-Policy": "no-referrer", "Cache-Control": "no-store", "X-Robots-Tag": "noindex, nofollow, noarchive, nosnippet"} {
			if got := a.header.Get(name); got != want && a.status != http.StatusMethodNotAllowed {
				t.Errorf("answer %d, %d: %s is %q", i, a.status, name, got)
			}
		}
	}
	s.app.Close() // what is written behind the answers is written
	secrets := append(secretForms(t, o.secret), secretForms(t, wrong)...)
	visit := o.cookie.Value
	seen := map[string]string{"the log": s.log.String(), "the store": s.textOf(t, b.caller.firm)}
	for i, a := range answers {
		header := a.header.Clone()
		if i == 0 {
			header.Del("Set-Cookie")
		}
		seen[fmt.Sprintf("the headers of answer %d", i)] = fmt.Sprint(header)
	}
	for where, text := range seen {
		for _, secret := range append(secrets, visit) {
			if strings.Contains(strings.ToUpper(text), strings.ToUpper(secret)) {
				t.Errorf("%s has a secret: %s", where, lineWith(text, secret))
			}
		}
	}
	shows(t, seen["the store"], "owner's link opened", "owner's link made")
	shows(t, seen["the log"], o.address)
}

// secretForms are a secret and how else it could be written.
func secretForms(t *testing.T, secret string) []string {
	t.Helper()
	raw, err := base32.NewEncoding("23456789ABCDEFGHJKLMNPQRSTUVWXYZ").WithPadding(base32.NoPadding).DecodeString(secret)
	must(t, err)
	return []string{secret, jobs.ShareCode(secret), url.QueryEscape(secret), hex.EncodeToString(raw), secret[:12], secret[30:42]}
}

// textOf is all that the store has of a firm.
func (s *site) textOf(t *testing.T, firm events.ID) string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), s.db.DSN(localpg.Superuser))
	must(t, err)
	defer conn.Close(t.Context())
	rows, err := conn.Query(t.Context(), `SELECT table_name::text FROM information_schema.columns WHERE table_schema = 'public' AND column_name = 'firm' ORDER BY 1`)
	must(t, err)
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	must(t, err)
	var all strings.Builder
	for _, table := range tables {
		var text string
		must(t, conn.QueryRow(t.Context(), `SELECT coalesce(string_agg(r::text, E'\n'), '') FROM `+table+` AS r WHERE firm = $1`, firm.String()).Scan(&text))
		fmt.Fprintln(&all, text)
	}
	return all.String()
}

// failingShares is a store whose shares cannot be read for a while.
type failingShares struct {
	jobs.Store
	failing *atomic.Bool
}

var errBroken = errors.New("the disk is on fire")

func (s *failingShares) OpenShare(ctx context.Context, firm, id events.ID, secret events.Digest, v jobs.ShareVisit) (jobs.Share, error) {
	if s.failing.Load() {
		return jobs.Share{}, errBroken
	}
	return s.Store.OpenShare(ctx, firm, id, secret, v)
}

func (s *failingShares) FindVisit(ctx context.Context, firm, share events.ID, visit events.Digest, at time.Time) (jobs.Share, error) {
	if s.failing.Load() {
		return jobs.Share{}, errBroken
	}
	return s.Store.FindVisit(ctx, firm, share, visit, at)
}

// A link's letter has the link and the code; that it could not be sent is said.
func TestOwnersLinkByMail(t *testing.T) {
	post := &postbag{letters: make(chan server.Letter, 4)}
	s := newSite(t, func(c *server.Config) { c.Mail, c.URL = post, "https://levels.example" })
	b := newBrowser(t, s)
	o := b.share(url.Values{"email": {"owner@example.com"}})
	letter := <-post.letters
	shows(t, letter.Text, "https://levels.example"+o.address+"#"+o.secret, jobs.ShareCode(o.secret), "14 Wattle Street")
	hides(t, s.log.String(), o.secret)
	form := hidden(b.get(b.page("/shares")))
	for name, v := range map[string]string{"name": "the owner", "until": "2040-03-02", "email": "nobody"} {
		form.Set(name, v)
	}
	status, body, _ := b.post(b.page("/shares"), form)
	if status != http.StatusUnprocessableEntity || !strings.Contains(body, `value="nobody"`) || !strings.Contains(body, "an e-mail address, such as") {
		t.Errorf("to nobody: status %d: %s", status, body)
	}
	s = newSite(t, func(c *server.Config) { c.Mail, c.URL = lostPost{}, "https://levels.example" })
	b = newBrowser(t, s)
	form = hidden(b.get(b.page("/shares")))
	for name, v := range map[string]string{"name": "the owner", "until": "2040-03-02", "email": "owner@example.com"} {
		form.Set(name, v)
	}
	_, body, _ = b.post(b.page("/shares"), form)
	shows(t, body, "It could not be sent to owner@example.com")
	hides(t, s.log.String(), shownLink.FindStringSubmatch(body)[2])
}

// lostPost takes no letter, and says so in its own words.
type lostPost struct{}

func (lostPost) Send(context.Context, string, server.Letter) error { return errBroken }
