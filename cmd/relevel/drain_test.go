package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	neturl "net/url"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
	"relevel/events/s3photos/s3test"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
)

const (
	looksEvery = 100 * time.Millisecond // the balancer at /readyz
	drains     = "1500ms"
	rollOf     = 3
)

// balancer sends each request to the next server that was ready when it looked last. It
// tries nothing twice, so that whatever a server lets fall is seen.
type balancer struct {
	mu    sync.Mutex
	urls  []*neturl.URL // by place; nil where no server is ready
	next  int
	fault func(error)
}

func (b *balancer) turn() *neturl.URL {
	b.mu.Lock()
	defer b.mu.Unlock()
	for range b.urls {
		b.next++
		if to := b.urls[b.next%len(b.urls)]; to != nil {
			return to
		}
	}
	return nil
}

func (b *balancer) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	to := b.turn()
	if to == nil {
		http.Error(w, "no server is ready", http.StatusBadGateway)
		return
	}
	proxy := httputil.ReverseProxy{
		Rewrite: func(p *httputil.ProxyRequest) { p.SetURL(to); p.Out.Host = p.In.Host },
		ErrorHandler: func(w http.ResponseWriter, r *http.Request, err error) {
			if r.Context().Err() == nil {
				b.fault(fmt.Errorf("%s %s: %w", r.Method, r.URL.Path, err))
			}
			w.WriteHeader(http.StatusBadGateway)
		},
	}
	proxy.ServeHTTP(w, r)
}

// watch looks whether the server at an address is ready, for as long as the test lasts.
func (b *balancer) watch(ctx context.Context, place int, at func() *neturl.URL) {
	looks := http.Client{Timeout: 5 * time.Second, Transport: &http.Transport{DisableKeepAlives: true}}
	for ctx.Err() == nil {
		to := at()
		if to != nil {
			resp, err := looks.Get(to.String() + "/readyz")
			if err != nil || resp.StatusCode != http.StatusOK {
				to = nil
			}
			if err == nil {
				resp.Body.Close()
			}
		}
		b.mu.Lock()
		b.urls[place] = to
		b.mu.Unlock()
		time.Sleep(looksEvery)
	}
}

// ready waits until so many servers are.
func (b *balancer) ready(t *testing.T, n int) {
	t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(looksEvery) {
		b.mu.Lock()
		are := 0
		for _, u := range b.urls {
			if u != nil {
				are++
			}
		}
		b.mu.Unlock()
		if are == n {
			return
		}
	}
	t.Fatalf("%d servers are not ready", n)
}

// rolled are servers that are replaced one after the other.
type rolled struct {
	t     *testing.T
	env   []string
	procs [rollOf]*process
	urls  [rollOf]atomic.Pointer[neturl.URL]
}

func (r *rolled) start(place int) {
	r.t.Helper()
	dir := filepath.Join(r.t.TempDir(), "data")
	p := launch(r.t, r.env, "serve", "--listen", "127.0.0.1:0", "--data", dir, "--drain", drains)
	at := regexp.MustCompile(`serves at (http://\S+)`).FindStringSubmatch(p.line())
	u, err := neturl.Parse(at[1])
	if err != nil {
		r.t.Fatal(err)
	}
	r.procs[place] = p
	r.urls[place].Store(u)
}

// stop tells a server to end, and checks that it ends well.
func (r *rolled) stop(place int) {
	r.t.Helper()
	if err := r.procs[place].end(syscall.SIGTERM); err != nil {
		r.t.Errorf("server %d: %v\n%s", place, err, r.procs[place].errs)
	}
}

// clients are whoever works while servers are replaced.
type clients struct {
	url, token string
	mu         sync.Mutex
	faults     []string
	appended   atomic.Int64
	seen       atomic.Int64 // pages
	streams    atomic.Int64 // that were opened
}

func (c *clients) fault(err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.faults = append(c.faults, err.Error())
}

func (c *clients) seenFaults() []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.faults
}

func (c *clients) ask(ctx context.Context, method, path string, body []byte) (*http.Response, error) {
	r, err := http.NewRequestWithContext(ctx, method, c.url+path, bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	r.Header.Set("Authorization", "Bearer "+c.token)
	r.Header.Set("Accept", "application/json, text/html")
	return http.DefaultClient.Do(r)
}

// whole asks for something whole.
func (c *clients) whole(method, path string, body []byte) ([]byte, bool) {
	resp, err := c.ask(context.Background(), method, path, body)
	if err != nil {
		c.fault(err)
		return nil, false
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err == nil && resp.StatusCode >= 300 {
		err = fmt.Errorf("%s %s: %d %s", method, path, resp.StatusCode, text)
	}
	if err != nil {
		c.fault(err)
	}
	return text, err == nil
}

// write appends to a job until ctx ends, and returns how many records were acknowledged.
func (c *clients) write(ctx context.Context, job events.ID) (n int64) {
	device := newTestID()
	for ctx.Err() == nil {
		raw := fmt.Sprintf(`{"events":[{"id":"%s","job":"%s","kind":"note","v":1,"at":%q,"device":"%s","device_seq":%d,"seen_seq":0,"by":"%s","body":{"text":"while it rolls"}}]}`,
			newTestID(), job, time.Now().Format(time.RFC3339Nano), device, n+1, device)
		text, ok := c.whole("POST", "/api/v1/jobs/"+job.String()+"/events", []byte(raw))
		if !ok {
			return n
		}
		var got struct{ Seq int64 }
		if err := json.Unmarshal(text, &got); err != nil || got.Seq != n+1 {
			c.fault(fmt.Errorf("append %d is answered %s", n+1, text))
		}
		n++
		c.appended.Add(1)
		time.Sleep(10 * time.Millisecond)
	}
	return n
}

// listen follows a job's stream as a browser does, and notes what it was told last.
func (c *clients) listen(ctx context.Context, job events.ID, told *atomic.Int64) {
	for ctx.Err() == nil {
		wait, err := c.follow(ctx, job, told)
		if err != nil && ctx.Err() == nil {
			c.fault(fmt.Errorf("a stream: %w", err))
			return
		}
		select {
		case <-time.After(wait):
		case <-ctx.Done():
		}
	}
}

// follow reads one stream to its end and says when to come again.
func (c *clients) follow(ctx context.Context, job events.ID, told *atomic.Int64) (wait time.Duration, err error) {
	resp, err := c.ask(ctx, "GET", "/api/v1/jobs/"+job.String()+"/live", nil)
	if err != nil {
		return 0, err
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		return 0, errors.New(resp.Status)
	}
	c.streams.Add(1)
	text := bufio.NewScanner(resp.Body)
	for text.Scan() {
		if id, ok := strings.CutPrefix(text.Text(), "id: "); ok {
			seq, _ := strconv.ParseInt(id, 10, 64)
			told.Store(seq)
		}
		if ms, ok := strings.CutPrefix(text.Text(), "retry: "); ok {
			n, _ := strconv.Atoi(ms)
			wait = time.Duration(n) * time.Millisecond
		}
	}
	return wait, text.Err()
}

func newTestID() events.ID {
	id, err := events.NewID(time.Now(), rand.Reader)
	if err != nil {
		panic(err)
	}
	return id
}

// newRolled starts servers on a database and a bucket.
func newRolled(t *testing.T, db *pgtest.DB) *rolled {
	t.Helper()
	s3 := s3test.Start(t)
	r := &rolled{t: t, env: []string{
		envDatabase + "=" + db.DSN(pgdb.App), envWorker + "=" + db.DSN(pgdb.Worker),
		envS3Endpoint + "=http://" + s3.Endpoint, envS3Bucket + "=" + s3.Bucket, envS3Key + "=" + s3.Key, envS3Secret + "=" + s3.Secret,
	}}
	for place := range rollOf {
		r.start(place)
	}
	return r
}

// begin makes a firm with jobs.
func (c *clients) begin(t *testing.T, db *pgtest.DB, many int) (firm events.ID, list []events.ID) {
	t.Helper()
	firm = newTestID()
	store := pgjobs.New(db.App)
	token, hash, err := jobs.NewToken(firm, rand.Reader)
	if err == nil {
		err = store.CreateFirm(t.Context(), jobs.Firm{ID: firm, Name: "Level Best", Words: jobs.Australia, CreatedAt: time.Now()})
	}
	if err == nil {
		err = store.CreateToken(t.Context(), jobs.Token{Firm: firm, ID: newTestID(), Hash: hash, Name: "test", Scope: jobs.ScopeEverything, CreatedAt: time.Now()})
	}
	if err != nil {
		t.Fatal(err)
	}
	c.token = token
	list = make([]events.ID, many)
	for i := range list {
		list[i] = newTestID()
		if _, ok := c.whole("POST", "/api/v1/jobs", fmt.Appendf(nil, `{"id":"%s","name":"14 Wattle Street","zone":"UTC"}`, list[i])); !ok {
			t.Fatal(c.faults)
		}
	}
	return firm, list
}

// Three servers are replaced one after the other while people write, read and listen
// through a balancer: nobody sees an error, nothing is lost, and who listens is told of
// everything.
func TestRollingRestart(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	r := newRolled(t, db)
	watching, stopWatching := context.WithCancel(context.Background())
	defer stopWatching()
	c := &clients{}
	b := &balancer{urls: make([]*neturl.URL, rollOf), fault: c.fault}
	front := httptest.NewServer(b)
	defer front.Close()
	for place := range rollOf {
		go b.watch(watching, place, r.urls[place].Load)
	}
	b.ready(t, rollOf)
	c.url = front.URL
	firm, list := c.begin(t, db, 4)

	working, stopWorking := context.WithCancel(context.Background())
	listening, stopListening := context.WithCancel(context.Background())
	defer stopListening()
	var work, listen sync.WaitGroup
	written := make([]int64, len(list))
	told := make([]atomic.Int64, 5*len(list))
	for i, job := range list {
		work.Go(func() { written[i] = c.write(working, job) })
		work.Go(func() {
			for working.Err() == nil {
				c.whole("GET", "/jobs/"+job.String()+"/book", nil)
				c.seen.Add(1)
			}
		})
		for n := range 5 {
			listen.Go(func() { c.listen(listening, job, &told[5*i+n]) })
		}
	}
	for place := range rollOf {
		r.stop(place)
		r.start(place)
		b.ready(t, rollOf)
	}
	stopWorking()
	work.Wait()
	end := time.Now().Add(patience)
	for i := range told {
		for told[i].Load() < written[i/5] && time.Now().Before(end) && len(c.seenFaults()) == 0 {
			time.Sleep(20 * time.Millisecond)
		}
		if told[i].Load() < written[i/5] {
			t.Errorf("a stream was told of %d of %d", told[i].Load(), written[i/5])
		}
	}
	stopListening()
	listen.Wait()
	for _, fault := range c.faults {
		t.Error(fault)
	}
	seqs, err := pglog.New(db.App).Seqs(t.Context(), firm, list)
	for i, job := range list {
		if err != nil || seqs[job] != written[i] || written[i] == 0 {
			t.Errorf("%d records of %d that were acknowledged: %v", seqs[job], written[i], err)
		}
	}
	t.Logf("%d appends, %d pages, %d streams for %d listeners: %d errors", c.appended.Load(), c.seen.Load(), c.streams.Load(), len(told), len(c.faults))
	if c.streams.Load() <= int64(len(told)) {
		t.Error("no stream had to be opened again: nothing was tested")
	}
}
