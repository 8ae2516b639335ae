package server_test

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/jobs"
	"relevel/server"
	"relevel/server/hooks"
	"relevel/server/tasks/pgtasks"
)

// withHooks lets a site tell hooks on this machine, from the queue of its database.
func withHooks(t *testing.T, db *pgtest.DB) func(*server.Config) {
	t.Helper()
	worker := db.Open(pgdb.Worker)
	return func(c *server.Config) {
		c.Tasks = pgtasks.New(db.App, worker, time.Now, rand.Reader)
		c.Hooks = hooks.Guard{Plain: true, Networks: []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8"), netip.MustParsePrefix("::1/128")}}
	}
}

// listener is an address that is told, and notes what.
type listener struct {
	*httptest.Server
	mu     sync.Mutex
	secret string
	status int // to answer with
	told   []hooks.Message
	wrong  []string
}

func newListener(t *testing.T) *listener {
	t.Helper()
	l := &listener{status: 204}
	l.Server = httptest.NewServer(http.HandlerFunc(l.take))
	t.Cleanup(l.Close)
	return l
}

func (l *listener) take(w http.ResponseWriter, r *http.Request) {
	l.mu.Lock()
	defer l.mu.Unlock()
	body, _ := io.ReadAll(r.Body)
	var m hooks.Message
	if err := json.Unmarshal(body, &m); err != nil {
		l.wrong = append(l.wrong, err.Error())
	}
	var seconds int64
	var sent string
	fmt.Sscanf(r.Header.Get("Relevel-Signature"), "t=%d,v1=%s", &seconds, &sent)
	mac := hmac.New(sha256.New, []byte(l.secret))
	fmt.Fprintf(mac, "%d.%s", seconds, body)
	if l.secret != "" && sent != hex.EncodeToString(mac.Sum(nil)) || r.Header.Get("Relevel-Delivery") != m.ID.String() {
		l.wrong = append(l.wrong, "signed "+r.Header.Get("Relevel-Signature"))
	}
	if l.status < 300 {
		l.told = append(l.told, m)
	}
	w.WriteHeader(l.status)
}

// seen waits until so many messages came, and returns them.
func (l *listener) seen(t *testing.T, n int) []hooks.Message {
	t.Helper()
	for range 300 {
		l.mu.Lock()
		told := slices.Clone(l.told)
		wrong := l.wrong
		l.mu.Unlock()
		if len(wrong) > 0 {
			t.Fatalf("%q", wrong)
		}
		if len(told) >= n {
			return told
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatalf("no %d messages came", n)
	return nil
}

func (l *listener) answer(status int) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.status = status
}

// hook makes a hook of a firm.
func (c *caller) hook(l *listener, happenings ...string) (id events.ID) {
	c.t.Helper()
	var made struct {
		ID     events.ID
		Secret string
	}
	body, err := json.Marshal(map[string]any{"name": "the bookkeeper", "url": l.URL + "/told", "happenings": happenings})
	must(c.t, err)
	c.send("POST", "/hooks", body).want(c.t, 201, &made)
	l.mu.Lock()
	l.secret = made.Secret
	l.mu.Unlock()
	return made.ID
}

// A hook is told of what it asked for, in order and signed, and of nothing that was
// before it.
func TestHookIsTold(t *testing.T) {
	t.Parallel()
	db := sharedDB(t)
	b := newBrowser(t, newSiteOn(t, db, withHooks(t, db)))
	l := newListener(t)
	b.caller.hook(l, "stop", "quarantine")
	d := newDevice(t, b.job)
	b.caller.post(b.job, d.raw("note", `{"text":"not told"}`), d.raw("stop", `{"why":"a crack","ask":"engineer"}`), d.raw("stop", `{"why":"another","ask":"engineer"}`))
	told := l.seen(t, 2)
	if told[0].Seq != 3 || told[1].Seq != 4 || told[0].Happening != "stop" || told[0].Job.Name != "14 Wattle Street" || !strings.Contains(string(told[0].Event), "a crack") {
		t.Errorf("%+v", told)
	}
	b.caller.send("POST", "/jobs/"+b.job.String()+"/events", []byte("no batch")).problem(t, 400, "")
	if apart := l.seen(t, 3)[2]; apart.Happening != "quarantine" || apart.Apart == nil || apart.Apart.Reason == "" {
		t.Errorf("%+v", apart)
	}
}

// What an address does not take comes again, under the same id, and what comes after it
// waits; then a hook that nothing reached is shown, and told again all that it missed.
func TestHookComesBack(t *testing.T) {
	t.Parallel()
	db := sharedDB(t)
	b := newBrowser(t, newSiteOn(t, db, withHooks(t, db)))
	l := newListener(t)
	id := b.caller.hook(l, "event")
	l.answer(503)
	d := newDevice(t, b.job)
	b.caller.post(b.job, d.raw("note", `{"text":"one"}`))
	var got struct {
		jobs.Hook
		Deliveries []jobs.Delivery
	}
	for len(got.Deliveries) == 0 {
		time.Sleep(50 * time.Millisecond)
		b.caller.get("/hooks/"+id.String(), &got)
	}
	if first := got.Deliveries[0]; first.Status != 503 || first.Reason == "" {
		t.Errorf("%+v", first)
	}
	b.caller.post(b.job, d.raw("note", `{"text":"two"}`))
	l.answer(200)
	b.caller.send("POST", "/hooks/"+id.String()+"/resume", nil).want(t, 204, nil)
	told := l.seen(t, 2)
	if told[0].Seq != 2 || told[1].Seq != 3 || told[0].ID != got.Deliveries[0].Delivery {
		t.Errorf("%+v, want 2 and 3 in order, the first under the id %s", told, got.Deliveries[0].Delivery)
	}
}

// A hook that is paused is told later of what happened meanwhile; one that is deleted
// is told nothing.
func TestHookPausedAndDeleted(t *testing.T) {
	t.Parallel()
	db := sharedDB(t)
	b := newBrowser(t, newSiteOn(t, db, withHooks(t, db)))
	l := newListener(t)
	id := b.caller.hook(l, "event")
	at := "/hooks/" + id.String()
	b.caller.send("POST", at+"/pause", nil).want(t, 204, nil)
	d := newDevice(t, b.job)
	b.caller.post(b.job, d.raw("note", `{"text":"one"}`))
	time.Sleep(time.Second)
	l.mu.Lock()
	if len(l.told) > 0 {
		t.Errorf("%+v while it was paused", l.told)
	}
	l.mu.Unlock()
	b.caller.send("POST", at+"/resume", nil).want(t, 204, nil)
	l.seen(t, 1)
	var sent jobs.Delivery
	b.caller.send("POST", at+"/test", nil).want(t, 200, &sent)
	if told := l.seen(t, 2); told[1].Happening != "test" || sent.Status != 204 {
		t.Errorf("%+v, %+v", told[1], sent)
	}
	var got struct{ Deliveries []jobs.Delivery }
	b.caller.get(at, &got)
	i := slices.IndexFunc(got.Deliveries, func(d jobs.Delivery) bool { return d.Seq == 2 })
	b.caller.send("POST", at+"/again?delivery="+got.Deliveries[i].ID.String(), nil).want(t, 200, nil)
	if told := l.seen(t, 3); told[2].ID != told[0].ID || told[2].Seq != 2 {
		t.Errorf("%+v, want the first once more", told[2])
	}
	b.caller.send("POST", at+"/delete", nil).want(t, 204, nil)
	b.caller.send("GET", at, nil).problem(t, 404, "")
	b.caller.post(b.job, d.raw("note", `{"text":"two"}`))
	time.Sleep(time.Second)
	if told := l.seen(t, 3); len(told) != 3 {
		t.Errorf("%d messages, the last after it was deleted", len(told))
	}
}

// A server that went between an append and its task loses nothing: the next one finds
// from the log what was not told.
func TestHookIsFoundAgain(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	b := newBrowser(t, newSiteOn(t, db)) // it tells nobody and adds no tasks
	telling := newSiteOn(t, db, withHooks(t, db))
	l := newListener(t)
	b.caller.at(telling).hook(l, "event")
	telling.app.Close()
	b.caller.post(b.job, newDevice(t, b.job).raw("note", `{"text":"while nobody tells"}`))
	newSiteOn(t, db, withHooks(t, db))
	if told := l.seen(t, 1); told[0].Seq != 2 {
		t.Errorf("%+v", told)
	}
}

// An address inside is refused when the hook is made, and where its name leads inside
// when it is told.
func TestHookInsideIsRefused(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	s := newSiteOn(t, db, withHooks(t, db), func(c *server.Config) { c.Hooks = hooks.Guard{} })
	c := s.firm("Level Best")
	for _, address := range []string{"http://office.example/", "https://127.0.0.1/", "https://169.254.169.254/latest/meta-data", "https://[::1]/", "https://a:b@office.example/", "nowhere"} {
		body := fmt.Sprintf(`{"name":"x","url":%q,"happenings":["event"]}`, address)
		c.send("POST", "/hooks", []byte(body)).problem(t, 422, "url")
	}
	c.send("POST", "/hooks", []byte(`{"name":"x","url":"https://office.example/","happenings":["everything"]}`)).problem(t, 422, "happenings")
	var made struct{ ID events.ID }
	c.send("POST", "/hooks", []byte(`{"name":"x","url":"https://localhost:1/","happenings":["event"]}`)).want(t, 201, &made)
	var sent jobs.Delivery
	c.send("POST", "/hooks/"+made.ID.String()+"/test", nil).want(t, 200, &sent)
	if sent.Status != 0 || !strings.Contains(sent.Reason, "not told") {
		t.Errorf("%+v", sent)
	}
}

// Where nobody looks for what is due, no hook is made.
func TestHooksWithoutAWorker(t *testing.T) {
	t.Parallel()
	b := newBrowser(t, newSite(t))
	b.caller.send("POST", "/hooks", []byte(`{"name":"x","url":"https://office.example/","happenings":["event"]}`)).problem(t, 503, "")
	if page := b.get("/hooks"); !strings.Contains(page, "This server tells nobody") {
		t.Error("the page does not say so")
	}
}

// The pages make a hook, show its secret once, and pause and delete it.
func TestHookPages(t *testing.T) {
	t.Parallel()
	db := sharedDB(t)
	b := newBrowser(t, newSiteOn(t, db, withHooks(t, db)))
	l := newListener(t)
	form := hidden(b.get("/hooks"))
	form.Set("name", "the bookkeeper")
	form.Set("url", "ftp://office.example")
	if status, page := b.fill("/hooks", form); status != 422 || !strings.Contains(page, "an address such as https") || !strings.Contains(page, "ftp://office.example") {
		t.Errorf("status %d: %s", status, page)
	}
	form.Set("url", l.URL)
	if status, page := b.fill("/hooks", form); status != 422 || !strings.Contains(page, "at least one thing") {
		t.Errorf("status %d: %s", status, page)
	}
	form["happenings"] = []string{"stop", "handover"}
	status, page := b.fill("/hooks", form)
	if status != 201 || !strings.Contains(page, "rlh_") || !strings.Contains(page, "a stop, a hand-over") {
		t.Fatalf("status %d: %s", status, page)
	}
	if page := b.get("/hooks"); strings.Contains(page, "rlh_") {
		t.Error("the secret is shown again")
	}
	at := "/hooks/" + form.Get("id")
	if status, page := b.fill(at+"/test", nil); status != 200 || !strings.Contains(page, "204 No Content") {
		t.Errorf("status %d: %s", status, page)
	}
	if _, page := b.fill(at+"/pause", nil); !strings.Contains(page, "Tell it again") {
		t.Errorf("paused: %s", page)
	}
	if status, page := b.fill(at+"/delete", nil); status != 200 || strings.Contains(page, "the bookkeeper") {
		t.Errorf("status %d: %s", status, page)
	}
}

// fill sends a plain form.
func (b *browser) fill(path string, form url.Values) (status int, body string) {
	b.t.Helper()
	r, err := http.NewRequestWithContext(b.t.Context(), "POST", b.site.URL+path, strings.NewReader(form.Encode()))
	must(b.t, err)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	status, body, _ = b.do(r)
	return status, body
}

// The pages of hooks in a browser, at both widths, with axe.
func TestHooksInBrowser(t *testing.T) {
	node, chromium := browserTools(t)
	db := sharedDB(t)
	b := newBrowser(t, newSiteOn(t, db, withHooks(t, db)))
	l := newListener(t)
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute)
	defer cancel()
	run := exec.CommandContext(ctx, node, filepath.Join("web", "browsertest", "hooks.js"))
	run.Env = append(os.Environ(), "SITE="+siteJSON(t, b, chromium), "LISTENER="+l.URL)
	if out, err := run.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s\nthe server's log:\n%s", err, out, b.site.log)
	}
}
