package torture_test

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
)

// What is bounded shorter under torture than usual, so that a fault is felt soon.
const (
	s3Patience    = 1500 * time.Millisecond
	phonePatience = 2 * time.Second
	readyPatience = 4 * time.Second // longer than the server's own look
	mostConns     = 40              // of Postgres, half of which the server may take
)

// world is a server with all that it stands on, and what may break between them.
type world struct {
	t     testing.TB
	db    *pgtest.DB // past all that breaks
	home  string     // a folder with a short name
	lines struct{ database, phones *wire }
	s3    *bucket
	trap  atomic.Pointer[trap]
	count *counts
	under atomic.Pointer[string] // the fault that came last
	blunt atomic.Bool            // it breaks more than it is meant to

	mu     sync.Mutex
	server *program
	at     string // its address

	breaks sync.RWMutex // held by who does something, and wholly by who looks at all
	client *http.Client
}

func newWorld(t testing.TB) *world {
	t.Helper()
	w := &world{t: t, db: pgtest.Own(t), count: &counts{began: time.Now(), faults: map[string]int{}}}
	var err error
	w.home, err = os.MkdirTemp("", "relevel-torture-")
	must(t, err)
	t.Cleanup(func() { os.RemoveAll(w.home) })
	w.limitConnections()
	w.s3 = newBucket(t)
	w.lines.database = w.wireToPostgres()
	w.startServer()
	front, err := net.Listen("tcp", "127.0.0.1:0")
	must(t, err)
	w.lines.phones = newWire(t, front, func() (net.Conn, error) { return net.Dial("tcp", w.address()) })
	w.client = &http.Client{Timeout: phonePatience, Transport: &http.Transport{MaxIdleConnsPerHost: 32}}
	t.Cleanup(w.client.CloseIdleConnections)
	return w
}

// wireToPostgres puts a wire before the socket of Postgres.
func (w *world) wireToPostgres() *wire {
	const socket = ".s.PGSQL.5432"
	behind := filepath.Join(w.query("host"), socket)
	listener, err := net.Listen("unix", filepath.Join(w.home, socket))
	must(w.t, err)
	wire := newWire(w.t, listener, func() (net.Conn, error) { return net.Dial("unix", behind) })
	wire.watch = func() watcher { return newSession(&w.trap) }
	return wire
}

// query is a part of the address of the database.
func (w *world) query(name string) string {
	u, err := url.Parse(w.db.DSN(pgdb.App))
	must(w.t, err)
	return u.Query().Get(name)
}

// wiredDSN is the address of the database behind the wire, with bounds that are
// reached soon.
func (w *world) wiredDSN(role string) string {
	u, err := url.Parse(w.db.DSN(role))
	must(w.t, err)
	q := u.Query()
	q.Set("host", w.home)
	q.Set("pool_max_conns", fmt.Sprint(mostConns/4))
	q.Set("lock_timeout", "500ms")
	q.Set("statement_timeout", "2s")
	u.RawQuery = q.Encode()
	return u.String()
}

// startServer starts the server process, which finds all that breaks on its way.
func (w *world) startServer() {
	p, at := startServer(w.t, orders{
		App: w.wiredDSN(pgdb.App), Worker: w.wiredDSN(pgdb.Worker), Bucket: w.s3.config,
		Keys: filepath.Join(w.home, "keys"), Spool: w.home,
	})
	w.mu.Lock()
	defer w.mu.Unlock()
	w.server, w.at = p, at
}

// killServer ends the server process where it stands.
func (w *world) killServer() { w.process().kill() }

func (w *world) process() *program {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.server
}

func (w *world) address() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.at
}

// setClock lets the server's clock jump.
func (w *world) setClock(ahead time.Duration) { fmt.Fprintln(w.process().input, ahead) }

// blunted stands for a 500 that a fault brings which breaks more than it is meant to.
const blunted = 599

// ask sends a request over the wire of the phones. It returns an error where no answer
// came: then nobody knows.
func (w *world) ask(method, path, token string, body io.Reader, headers ...string) (status int, answer []byte, err error) {
	r, err := http.NewRequest(method, "http://"+w.lines.phones.listener.Addr().String()+path, body)
	if err != nil {
		return 0, nil, err
	}
	r.Header.Set("Authorization", "Bearer "+token)
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	resp, err := w.client.Do(r)
	if err != nil {
		return 0, nil, err
	}
	defer resp.Body.Close()
	answer, err = io.ReadAll(resp.Body)
	if err == nil && resp.StatusCode == http.StatusServiceUnavailable && resp.Header.Get("Retry-After") == "" {
		w.t.Errorf("%s: %s %s: 503 without Retry-After", w.last(), method, path)
	}
	if err == nil && resp.StatusCode == http.StatusInternalServerError && w.blunt.Load() {
		return blunted, nil, nil
	}
	if err == nil && resp.StatusCode == http.StatusInternalServerError {
		w.t.Errorf("%s: %s %s: %s", w.last(), method, path, answer)
	}
	return resp.StatusCode, answer, err
}

// last names the fault that came last.
func (w *world) last() string {
	if name := w.under.Load(); name != nil {
		return *name
	}
	return "before any fault"
}

// ready asks the server itself, past the wire of the phones, whether it can work.
func (w *world) ready() bool {
	status, _ := w.readiness()
	return status == http.StatusOK
}

// photosAway reports whether the server says that it works, and that the photos are away.
func (w *world) photosAway() bool {
	status, checks := w.readiness()
	return status == http.StatusOK && checks["photos"] == "away"
}

// readiness is what the server says of itself, 0 where it does not answer.
func (w *world) readiness() (status int, checks map[string]string) {
	client := &http.Client{Timeout: readyPatience}
	defer client.CloseIdleConnections()
	resp, err := client.Get("http://" + w.address() + "/readyz")
	if err != nil {
		return 0, nil
	}
	defer resp.Body.Close()
	var said struct{ Checks map[string]string }
	if err := json.NewDecoder(resp.Body).Decode(&said); err != nil {
		return 0, nil
	}
	return resp.StatusCode, said.Checks
}

// recovery bounds how long a server may need after a fault, on a busy machine.
const recovery = 45 * time.Second

// within waits for something to become so.
func (w *world) within(patience time.Duration, what string, ok func() bool) {
	w.t.Helper()
	for end := time.Now().Add(patience); !ok(); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			w.t.Fatalf("%s: not so within %s", what, patience)
		}
	}
}

func (w *world) newID() events.ID {
	id, err := events.NewID(time.Now(), rand.Reader)
	must(w.t, err)
	return id
}

// newFirm makes a firm with a token and jobs, past all that breaks.
func (w *world) newFirm(jobsOf int) *crew {
	w.t.Helper()
	ctx, store, now := context.Background(), pgjobs.New(w.db.App), time.Now()
	c := &crew{
		world: w, firm: w.newID(), ending: make(chan struct{}), tried: map[events.ID]string{}, acked: map[events.ID]acked{},
		notes: map[string]events.ID{}, waiting: map[events.Digest][]byte{},
	}
	must(w.t, store.CreateFirm(ctx, jobs.Firm{ID: c.firm, Name: "Level Best", Words: jobs.Australia, CreatedAt: now}))
	text, hash, err := jobs.NewToken(c.firm, rand.Reader)
	must(w.t, err)
	must(w.t, store.CreateToken(ctx, jobs.Token{Firm: c.firm, ID: w.newID(), Hash: hash, Name: "phones", Scope: jobs.ScopeEverything, CreatedAt: now}))
	c.token = text
	for range jobsOf {
		job := w.newID()
		must(w.t, store.CreateJob(ctx, jobs.Job{Firm: c.firm, ID: job, Name: "14 Wattle Street", Zone: "Australia/Sydney", CreatedAt: now}))
		must(w.t, c.log().Create(ctx, c.firm, job))
		c.jobs = append(c.jobs, job)
	}
	return c
}
