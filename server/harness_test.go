package server_test

import (
	"bufio"
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/dirphotos"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
	"relevel/events/pgproof"
	"relevel/jobs"
	"relevel/jobs/jobstest"
	"relevel/jobs/pgjobs"
	"relevel/server"
	"relevel/server/pictures"
)

// A test that kills a server runs this test binary once more as that server.
func TestMain(m *testing.M) {
	if os.Getenv(servedDSN) != "" {
		serveUntilKilled()
		return
	}
	code := m.Run()
	for _, end := range slices.Backward(endings) {
		end()
	}
	os.Exit(code)
}

// endings run after the last test.
var endings []func()

// lasting is a test whose cleaning up waits for the last test.
type lasting struct{ testing.TB }

func (lasting) Cleanup(f func()) { endings = append(endings, f) }

var shared struct {
	sync.Once
	db *pgtest.DB
}

// sharedDB is the database of all tests that need none of their own: each of
// them has its own firms, and firms are apart.
func sharedDB(t *testing.T) *pgtest.DB {
	t.Helper()
	shared.Do(func() { shared.db = pgtest.New(lasting{t}) })
	if shared.db == nil {
		t.Fatal("there is no database: see the first test that failed")
	}
	return shared.db
}

// site is a server under test on a real database and a real folder of photos.
type site struct {
	*httptest.Server
	t   *testing.T
	db  *pgtest.DB
	app *server.Server
	log *logBook

	others []*server.Server // of a fleet, behind the same address
}

// end ends what answers at the address: what is to follow answers is done then.
func (s *site) end() {
	for _, app := range append(s.others, s.app) {
		app.Close()
	}
}

// newSite starts a server. What change leaves alone works for real.
func newSite(t *testing.T, change ...func(*server.Config)) *site {
	t.Helper()
	return newSiteOn(t, sharedDB(t), change...)
}

// newSiteOn starts a server on a database, where others may be.
func newSiteOn(t *testing.T, db *pgtest.DB, change ...func(*server.Config)) *site {
	t.Helper()
	if n := fleetSize(); n > 1 {
		return newFleetOn(t, db, n, change...).site
	}
	s := &site{t: t, db: db, log: &logBook{}}
	config, err := configOn(db.App, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	config.Logger = slog.New(slog.NewJSONHandler(s.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	for _, f := range change {
		f(&config)
	}
	s.app = server.New(config)
	s.Server = httptest.NewServer(s.app)
	t.Cleanup(func() {
		s.app.Close()
		s.Server.Close()
	})
	return s
}

// configOn wires a server as the program does.
func configOn(db *pgdb.DB, folder string) (server.Config, error) {
	objects, err := dirphotos.Open(folder)
	if err != nil {
		return server.Config{}, err
	}
	photos := &events.Photos{Objects: objects, Ledger: pglog.NewLedger(db), Spool: folder}
	return server.Config{
		Log: pglog.New(db), Store: ownTries{pgjobs.New(db), jobstest.NewMemory()}, Photos: photos,
		Album:       pictures.NewAlbum(photos, pictures.NewMaker(pictures.DefaultMemory)),
		Checkpoints: pgproof.New(db),
		Version:     "test",
		Checks:      []server.Check{{Name: "database", Needed: true, Run: db.CheckSchema}},
	}, nil
}

// ownTries has a server count tries by itself: tests come from one address, and share a
// database.
type ownTries struct {
	jobs.Store
	own jobs.Tries
}

func (o ownTries) TakeTry(ctx context.Context, of events.Digest, pace jobs.Pace, now time.Time) (bool, error) {
	return o.own.TakeTry(ctx, of, pace, now)
}

func (o ownTries) ForgetTries(ctx context.Context, now time.Time) error {
	return o.own.ForgetTries(ctx, now)
}

// logBook takes what a server logs.
type logBook struct{ text atomic.Pointer[string] }

func (l *logBook) Write(p []byte) (int, error) {
	for {
		was := l.text.Load()
		now := string(p)
		if was != nil {
			now = *was + now
		}
		if l.text.CompareAndSwap(was, &now) {
			return len(p), nil
		}
	}
}

func (l *logBook) String() string {
	if text := l.text.Load(); text != nil {
		return *text
	}
	return ""
}

// caller speaks to a server with a firm's token.
type caller struct {
	t     *testing.T
	url   string
	firm  events.ID
	token string
}

// firm makes a firm with a token.
func (s *site) firm(name string) *caller {
	s.t.Helper()
	return newFirm(s.t, pgjobs.New(s.db.App), s.URL, name)
}

func newFirm(t *testing.T, store jobs.Store, url, name string) *caller {
	t.Helper()
	return newFirmAt(t, store, url, name, time.Now())
}

func newFirmAt(t *testing.T, store jobs.Store, url, name string, now time.Time) *caller {
	t.Helper()
	c := &caller{t: t, url: url, firm: newID(t)}
	must(t, store.CreateFirm(t.Context(), jobs.Firm{ID: c.firm, Name: name, Words: jobs.Australia, CreatedAt: now}))
	text, hash, err := jobs.NewToken(c.firm, rand.Reader)
	must(t, err)
	must(t, store.CreateToken(t.Context(), jobs.Token{Firm: c.firm, ID: newID(t), Hash: hash, Name: "test", Scope: jobs.ScopeEverything, CreatedAt: now}))
	c.token = text
	return c
}

// at is the same caller before another server.
func (c *caller) at(s *site) *caller {
	there := *c
	there.url = s.URL
	return &there
}

func newID(t *testing.T) events.ID {
	t.Helper()
	id, err := events.NewID(time.Now(), rand.Reader)
	must(t, err)
	return id
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// answer is what a server answered.
type answer struct {
	status int
	header http.Header
	body   []byte
}

// send sends a request under /api/v1 and reads the answer.
func (c *caller) send(method, path string, body []byte, headers ...string) answer {
	c.t.Helper()
	a, err := c.try(c.t.Context(), method, path, body, headers...)
	must(c.t, err)
	return a
}

func (c *caller) try(ctx context.Context, method, path string, body []byte, headers ...string) (answer, error) {
	r, err := c.request(ctx, method, path, body, headers...)
	if err != nil {
		return answer{}, err
	}
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		return answer{}, err
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	a := answer{resp.StatusCode, resp.Header, b}
	if err == nil {
		asDescribed(c.t, method, path, body, a)
	}
	return a, err
}

func (c *caller) request(ctx context.Context, method, path string, body []byte, headers ...string) (*http.Request, error) {
	r, err := http.NewRequestWithContext(ctx, method, c.url+"/api/v1"+path, bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	r.Header.Set("Authorization", "Bearer "+c.token)
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	return r, nil
}

// want checks the status and, if into is given, reads the body into it.
func (a answer) want(t *testing.T, status int, into any) answer {
	t.Helper()
	if a.status != status {
		t.Fatalf("status %d, want %d: %s", a.status, status, a.body)
	}
	if into != nil {
		if err := json.Unmarshal(a.body, into); err != nil {
			t.Fatalf("%v in %s", err, a.body)
		}
	}
	return a
}

// problem checks that an answer is a problem of RFC 9457 about a field.
func (a answer) problem(t *testing.T, status int, field string) server.Problem {
	t.Helper()
	var p server.Problem
	a.want(t, status, &p)
	if got := a.header.Get("Content-Type"); got != "application/problem+json" {
		t.Errorf("Content-Type = %q, want that of a problem", got)
	}
	if p.Type == "" || p.Title == "" || p.Detail == "" || p.RequestID == "" || p.Status != status || p.Field != field {
		t.Errorf("problem = %+v, want all of it, with status %d and field %q", p, status, field)
	}
	return p
}

func (c *caller) get(path string, into any) {
	c.t.Helper()
	c.send("GET", path, nil).want(c.t, 200, into)
}

func (c *caller) newJob() events.ID {
	c.t.Helper()
	var j jobs.Job
	c.send("POST", "/jobs", []byte(`{"name":"14 Wattle Street","zone":"Australia/Sydney"}`)).want(c.t, 201, &j)
	return j.ID
}

// taken is the answer to an append, as a phone reads it.
type taken struct {
	Results  []events.Result `json:"results"`
	Seq      int64           `json:"seq"`
	Root     events.Hash     `json:"root"`
	Supports []jobs.Support  `json:"supports"`
}

// post sends events and fails the test unless all of them were stored.
func (c *caller) post(job events.ID, raws ...string) taken {
	c.t.Helper()
	var got taken
	c.send("POST", "/jobs/"+job.String()+"/events", batch(raws...)).want(c.t, 200, &got)
	for i, r := range got.Results {
		if r.Outcome != events.WasStored {
			c.t.Fatalf("event %d: %+v, want it stored: %s", i, r, raws[i])
		}
	}
	return got
}

func (c *caller) state(job events.ID) (p jobs.Picture) {
	c.t.Helper()
	c.get("/jobs/"+job.String()+"/state", &p)
	return p
}

func batch(raws ...string) []byte {
	return []byte(`{"events":[` + strings.Join(raws, ",") + `]}`)
}

// device is a phone, which numbers what it records.
type device struct {
	t      *testing.T
	id, by events.ID
	job    events.ID
	seq    int64
	at     time.Time // its clock
}

func newDevice(t *testing.T, job events.ID) *device {
	t.Helper()
	return &device{t: t, id: newID(t), by: newID(t), job: job, at: time.Now().Add(-time.Hour)}
}

// event makes the next event of the phone, a second after the last.
func (d *device) event(kind, body string) (id events.ID, raw string) {
	d.t.Helper()
	id = newID(d.t)
	d.seq++
	d.at = d.at.Add(time.Second)
	return id, d.envelope(id, kind, body)
}

func (d *device) envelope(id events.ID, kind, body string) string {
	return fmt.Sprintf(`{"id":"%s","job":"%s","kind":%q,"v":1,"at":%q,"device":"%s","device_seq":%d,"seen_seq":0,"by":"%s","body":%s}`,
		id, d.job, kind, d.at.Format(time.RFC3339Nano), d.id, d.seq, d.by, body)
}

// raw is event for those who do not need its id.
func (d *device) raw(kind, body string) string {
	d.t.Helper()
	_, raw := d.event(kind, body)
	return raw
}

// smallPlan has two supports on a bearer, a spot and a datum at nought.
const smallPlan = `{
	"supports":[{"id":"B1-1","x":1,"y":1},{"id":"B1-2","x":3,"y":1}],
	"spots":[{"id":"S1","x":2,"y":2}],
	"datums":[{"id":"D1","x":0,"y":0,"height":0,"off_building":true}],
	"bearers":[{"id":"B1","supports":["B1-1","B1-2"]}]}`

// set-up and reading on the small plan.
func (d *device) setup() (id events.ID, raw string) {
	d.t.Helper()
	return d.event("setup", `{"instrument":"laser","datums":[{"datum":"D1","staff":1000}]}`)
}

func (d *device) reading(setup events.ID, point string, staff float64) string {
	d.t.Helper()
	return d.raw("reading", fmt.Sprintf(`{"setup":"%s","point":%q,"face":"floor","staff":%g}`, setup, point, staff))
}

// lines reads a live stream.
type lines struct {
	t    *testing.T
	text *bufio.Scanner
}

// next returns the data of the next head, without the heartbeats between.
func (l *lines) next() string {
	l.t.Helper()
	for l.text.Scan() {
		if data, ok := strings.CutPrefix(l.text.Text(), "data: "); ok {
			return data
		}
	}
	l.t.Fatalf("the stream ended: %v", l.text.Err())
	return ""
}

// listen opens a live stream that ends with the test, or when end is called.
func (c *caller) listen(path string, headers ...string) (l *lines, end func()) {
	c.t.Helper()
	ctx, cancel := context.WithTimeout(c.t.Context(), 10*time.Second)
	c.t.Cleanup(cancel)
	r, err := c.request(ctx, "GET", path, nil, headers...)
	must(c.t, err)
	resp, err := http.DefaultClient.Do(r)
	must(c.t, err)
	c.t.Cleanup(func() { resp.Body.Close() })
	if resp.StatusCode != 200 || resp.Header.Get("Content-Type") != "text/event-stream" {
		c.t.Fatalf("status %d of type %s, want a stream", resp.StatusCode, resp.Header.Get("Content-Type"))
	}
	return &lines{c.t, bufio.NewScanner(resp.Body)}, cancel
}
