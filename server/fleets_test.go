package server_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/pglog"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
	"relevel/server"
)

// fleetOf is how many servers these tests have: with three, what one of them does is
// seen by one that did nothing and by one that did something else.
const fleetOf = 3

// sharedTries has the servers of a fleet count tries as they do for real.
func sharedTries(c *server.Config) { c.Store = c.Store.(ownTries).Store }

// What was recorded through one server is on the pages and in the answers of all, at
// once, whatever they remember.
func TestFleetReadsWhatWasWritten(t *testing.T) {
	t.Parallel()
	f := newFleet(t, fleetOf)
	c := f.firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	c.post(job, d.raw("plan", smallPlan))
	setup, raw := d.setup()
	c.post(job, raw)
	for n := range 4 * fleetOf {
		staff := float64(1000 + n)
		got := c.at(f.each[n%fleetOf]).post(job, d.reading(setup, "B1-1", staff))
		f.everywhere(c, func(name string, there *caller) {
			p := there.state(job)
			if p.Seq != got.Seq || len(p.Supports) == 0 {
				t.Fatalf("%s is at %d after %d was acknowledged", name, p.Seq, got.Seq)
			}
			page := there.page("/jobs/" + job.String() + "/book")
			if !strings.Contains(page, fmt.Sprintf("%.0f", staff)) {
				t.Fatalf("the book of %s has no %v", name, staff)
			}
		})
	}
}

// page is a page as a token is shown it.
func (c *caller) page(path string) string {
	c.t.Helper()
	r, err := http.NewRequestWithContext(c.t.Context(), "GET", c.url+path, nil)
	must(c.t, err)
	r.Header.Set("Authorization", "Bearer "+c.token)
	r.Header.Set("Accept", "text/html")
	resp, err := http.DefaultClient.Do(r)
	must(c.t, err)
	defer resp.Body.Close()
	var body bytes.Buffer
	_, err = body.ReadFrom(resp.Body)
	must(c.t, err)
	if resp.StatusCode != 200 {
		c.t.Fatalf("GET %s: status %d: %s", path, resp.StatusCode, body.String())
	}
	return body.String()
}

// Somebody signs in and works while each request goes to another server; what they end
// on one is over on all.
func TestFleetSessions(t *testing.T) {
	t.Parallel()
	f := newFleet(t, fleetOf)
	tama := newBrowser(t, f.site).joinedBy(t, jobs.SiteLead)
	tama.postForm("/leave", nil)
	if tama.isIn() {
		t.Fatal("who left is in")
	}
	tama.signIn(tama.email(), goodPassword)
	for range 2 * fleetOf {
		tama.get("/")
		tama.get(tama.page("/book"))
		tama.saved("note", "", url.Values{"text": {"by way of all of them"}})
	}
	u, err := url.Parse(f.URL)
	must(t, err)
	cookies := tama.client.Jar.Cookies(u)
	at := slices.IndexFunc(cookies, func(c *http.Cookie) bool { return c.Name == "relevel" })
	tama.postForm("/leave", nil)
	f.everywhere(tama.caller, func(name string, there *caller) {
		if status := there.send("GET", "/jobs", nil, "Authorization", "", "Cookie", cookies[at].String()).status; status != http.StatusUnauthorized {
			t.Errorf("%s answers %d to a session that ended", name, status)
		}
	})
}

// What is revoked on one server opens nothing on any: a link and its visits at once, a
// token within the half minute for which a server remembers it.
func TestFleetRevokes(t *testing.T) {
	t.Parallel()
	var later atomic.Int64
	f := newFleetOn(t, sharedDB(t), fleetOf, func(c *server.Config) {
		c.Now = func() time.Time { return time.Now().Add(time.Duration(later.Load())) }
	})
	b := newBrowser(t, f.site)
	o := b.share(nil).opened()
	phone := b.caller.tokenOf(jobs.ScopePhone)
	f.everywhere(phone, func(name string, there *caller) {
		there.send("GET", "/phone", nil).want(t, 200, nil)
		o.url = there.url
		o.see("")
	})
	first := b.caller.at(f.each[0])
	first.send("POST", "/jobs/"+b.job.String()+"/shares/"+o.id.String()+"/revoke", nil).want(t, 204, nil)
	var list struct {
		Devices []struct {
			ID    events.ID
			Scope jobs.Scope
		}
	}
	first.get("/devices", &list)
	for _, d := range list.Devices {
		if d.Scope == jobs.ScopePhone {
			first.send("POST", "/devices/"+d.ID.String()+"/revoke", nil).want(t, 204, nil)
		}
	}
	phone.at(f.each[0]).send("GET", "/phone", nil).problem(t, 401, "")
	later.Add(int64(30 * time.Second))
	f.everywhere(phone, func(name string, there *caller) {
		there.send("GET", "/phone", nil).problem(t, 401, "")
		o.url = there.url
		if a := o.ask("GET", o.address, nil); strings.Contains(string(a.body), "14 Wattle Street") {
			t.Errorf("%s shows the job by a link that was revoked", name)
		}
	})
}

// An append through one server reaches those who listen to others, of one job and of a
// firm, and so does a change of a job's particulars.
func TestFleetStreams(t *testing.T) {
	t.Parallel()
	f := newFleet(t, fleetOf)
	c := f.firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	c.post(job, d.raw("note", `{}`))
	var one, all []*lines
	f.everywhere(c, func(_ string, there *caller) {
		l, _ := there.listen("/jobs/" + job.String() + "/live")
		wantNext(t, l, head(job, 1))
		one = append(one, l)
		l, _ = there.listen("/live")
		wantNext(t, l, head(job, 1))
		all = append(all, l)
	})
	for n := range fleetOf {
		began := time.Now()
		c.at(f.each[n]).post(job, d.raw("note", `{}`))
		for i := range fleetOf {
			wantNext(t, one[i], head(job, n+2))
		}
		t.Logf("an append through server %d is told by all after %v", n, time.Since(began).Round(time.Millisecond))
		for i := range fleetOf {
			wantNext(t, all[i], head(job, n+2))
		}
	}
	c.at(f.each[1]).send("POST", "/jobs/"+job.String()+"/particulars", []byte(`{"name":"16 Wattle Street","zone":"UTC","revision":0}`)).want(t, 200, nil)
	for i := range fleetOf {
		wantNext(t, all[i], fmt.Sprintf(`{"job":"%s"}`, job))
	}
}

// Who guesses gains nothing by there being several servers: of passwords, pairing codes
// and owners' codes as many may be tried as with one.
func TestFleetTries(t *testing.T) {
	t.Parallel()
	f := newFleet(t, fleetOf, sharedTries)
	tama := newBrowser(t, f.site).joinedBy(t, jobs.CrewHand)
	o := tama.share0(t, f)
	guess := map[string]struct {
		most int // burst, and what comes back while it is tried
		try  func(there *site) int
	}{
		"name": {10 + 6, func(there *site) int {
			b := &browser{t: t, site: there, client: newClient(t)}
			status, _, _ := b.signIn(tama.email(), "four words too many")
			return status
		}},
		"pairing": {10 + 6, func(there *site) int {
			return (&caller{t: t, url: there.URL}).send("POST", "/pair", []byte(`{"code":"ABCD-EFGH","device":"a phone"}`)).status
		}},
		"share": {20 + 20, func(there *site) int {
			at := *o
			at.url = there.URL
			return at.tries("no secret").status
		}},
	}
	for name, g := range guess {
		began, tried := time.Now(), 0
		for i := range 60 {
			if g.try(f.each[i%fleetOf]) != http.StatusTooManyRequests {
				tried++
			}
		}
		if took := time.Since(began); took > time.Minute {
			t.Fatalf("%s: sixty tries took %v", name, took)
		}
		if tried > g.most || tried < 10 {
			t.Errorf("%s: %d of 60 were tried, want up to %d", name, tried, g.most)
		}
	}
}

// share0 is an owner's link of the firm of somebody on a fleet.
func (b *browser) share0(t *testing.T, f fleet) *owner {
	t.Helper()
	var made struct{ Link string }
	b.caller.send("POST", "/jobs/"+b.job.String()+"/shares", []byte(`{"name":"the owner"}`)).want(t, http.StatusCreated, &made)
	link := shownLink.FindStringSubmatch(made.Link)
	return &owner{t: t, url: f.URL, address: "/s/" + link[1], secret: link[2]}
}

// Many who write to one job through all servers, some of them the same batch: no gap, no
// record twice, none lost; each is signed once and no two servers sign what does not
// follow from the other.
func TestFleetAppends(t *testing.T) {
	t.Parallel()
	f := newFleet(t, fleetOf)
	c := f.firm("Level Best")
	job := c.newJob()
	const writers, batches = 6, 15
	var all sync.WaitGroup
	for w := range writers {
		d := newDevice(t, job)
		all.Go(func() {
			for n := range batches {
				sent := batch(d.raw("note", `{"text":"one"}`), d.raw("note", `{"text":"two"}`))
				for _, there := range []*caller{c.at(f.each[(w+n)%fleetOf]), c.at(f.each[(w+n+1)%fleetOf])} {
					a, err := there.try(t.Context(), "POST", "/jobs/"+job.String()+"/events", sent)
					if err != nil || a.status != 200 {
						t.Errorf("%v %d %s", err, a.status, a.body)
					}
				}
			}
		})
	}
	all.Wait()
	const total = writers * batches * 2
	if atSeq := numbered(t, c, pglog.New(f.db.App), job); len(atSeq) != total {
		t.Errorf("%d records, want %d", len(atSeq), total)
	}
	c.checkpoint(job, total)
	f.everywhere(c, func(name string, there *caller) {
		if got := there.checkpoint(job, total); got.Size != total {
			t.Errorf("%s shows a checkpoint of %d", name, got.Size)
		}
	})
	if n := f.count(`SELECT count(*) FROM checkpoint_fault`); n > 0 {
		t.Errorf("%d faults were found in a good log", n)
	}
	if n := f.count(`SELECT count(*) - count(DISTINCT size) FROM checkpoint WHERE job = $1`, job.String()); n > 0 {
		t.Errorf("%d sizes were signed twice", n)
	}
}

// A hook is told of each thing once and in order, though all servers look for what is due.
func TestFleetHooks(t *testing.T) {
	t.Parallel()
	f := newFleet(t, fleetOf)
	c := f.firm("Level Best")
	l := newListener(t)
	c.hook(l, "event")
	time.Sleep(2100 * time.Millisecond) // for which servers remember that there was none
	job := c.newJob()
	d := newDevice(t, job)
	var ids []string
	for n := range 6 * fleetOf {
		id, raw := d.event("note", `{"text":"heard"}`)
		c.at(f.each[n%fleetOf]).post(job, raw)
		ids = append(ids, id.String())
	}
	told := l.seen(t, len(ids))
	time.Sleep(time.Second) // what would come twice
	if now := l.seen(t, len(ids)); len(now) != len(told) || len(told) != len(ids) {
		t.Errorf("%d and then %d messages, want %d", len(told), len(now), len(ids))
	}
	for i, m := range told {
		b, err := json.Marshal(m)
		must(t, err)
		if !strings.Contains(string(b), ids[i]) {
			t.Fatalf("message %d is not of %s: %s", i, ids[i], b)
		}
	}
}

// A pack that all are asked for at once is made once, and is the same from each.
func TestFleetPacks(t *testing.T) {
	t.Parallel()
	f := newFleet(t, fleetOf)
	b := newBrowser(t, f.site)
	packJob(b)
	var all sync.WaitGroup
	for i := range 2 * fleetOf {
		there := b.caller.at(f.each[i%fleetOf])
		all.Go(func() {
			if status, err := there.tryPage("POST", b.page("/pack"), "paper=A4"); err != nil || status >= 400 {
				t.Errorf("%v %d", err, status)
			}
		})
	}
	all.Wait()
	store := pgjobs.New(f.db.App)
	made := madePack(t, store, b.caller.firm, b.job)
	list, err := store.ListPacks(t.Context(), b.caller.firm, b.job)
	if must(t, err); len(list) != 1 || !made.Ready() {
		t.Fatalf("%+v", list)
	}
	f.everywhere(b.caller, func(name string, there *caller) {
		if file := there.page(b.page("/packs/" + made.ID.String())); sha256.Sum256([]byte(file)) != made.File {
			t.Errorf("%s sends another file of %d bytes", name, len(file))
		}
	})
}

// The same sheet sent to all servers at once is in the book once.
func TestFleetImports(t *testing.T) {
	t.Parallel()
	f := newFleet(t, fleetOf)
	b := newBrowser(t, f.site)
	c := b.caller
	before := c.state(b.job).Seq
	var all sync.WaitGroup
	for i := range 2 * fleetOf {
		there := c.at(f.each[i%fleetOf])
		all.Go(func() {
			a, err := there.try(t.Context(), "POST", "/jobs/"+b.job.String()+"/book/import?by="+b.person.String(), []byte(bookFile), "Content-Type", "text/csv")
			if err != nil || a.status != 200 {
				t.Errorf("%v %d %s", err, a.status, a.body)
			}
		})
	}
	all.Wait()
	if added := c.state(b.job).Seq - before; added != 4 {
		t.Errorf("%d records of four lines", added)
	}
}

// A photo sent through one server is there through the others.
func TestFleetPhotos(t *testing.T) {
	t.Parallel()
	f := newFleet(t, fleetOf)
	c := f.firm("Level Best")
	jpeg := smallJPEG(t)
	digest := events.Digest(sha256.Sum256(jpeg))
	c.at(f.each[0]).send("PUT", "/photos/"+digest.String(), jpeg, "Content-Type", "image/jpeg").want(t, 200, nil)
	f.everywhere(c, func(name string, there *caller) {
		if a := there.send("GET", "/photos/"+digest.String()+"?size=original", nil).want(t, 200, nil); !bytes.Equal(a.body, jpeg) {
			t.Errorf("%s sends %d other bytes", name, len(a.body))
		}
	})
}

// A form that is sent twice, each time to another server, is in the book once, all of its
// records, and nothing of it is kept apart; sent again with other words it is another one.
// What is said of it is said by whichever server shows the page.
func TestFleetForms(t *testing.T) {
	t.Parallel()
	f := newFleet(t, fleetOf)
	b := newBrowser(t, f.site)
	d := newDevice(t, b.job)
	_, raw := d.setup()
	b.caller.post(b.job, raw)
	before := b.caller.state(b.job).Seq
	form := hidden(b.get(b.page("/record/note")))
	form.Set("recorder", b.person.String())
	form.Set("text", "pressed twice")
	for range fleetOf {
		if status, body, _ := b.post(b.page("/record/note"), form); status != 200 || !strings.Contains(body, "Saved") {
			t.Fatalf("status %d: %s", status, body)
		}
	}
	if added := b.caller.state(b.job).Seq - before; added != 1 {
		t.Errorf("%d records of one form", added)
	}
	form.Set("text", "pressed once more")
	b.post(b.page("/record/note"), form)
	if added := b.caller.state(b.job).Seq - before; added != 2 {
		t.Errorf("%d records of two forms", added)
	}
	if n := f.count(`SELECT count(*) FROM quarantine`); n > 0 {
		t.Errorf("%d are kept apart", n)
	}
	b.caller.send("POST", "/jacks", []byte(`{"name":"bottle","rated_kn":50}`)).want(t, 201, nil)
	for range fleetOf {
		_, body, _ := b.record("jacking", "?support=B1-1", url.Values{"moves[0]": {"B1-1"}, "moves[0].by": {"2"}, "moves[0].gauge": {"rule"}, "moves[0].jack": {"borrowed"}})
		if !strings.Contains(body, "Recorded and flagged: ") {
			t.Errorf("the page does not say what was flagged")
		}
	}
}
