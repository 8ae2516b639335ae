package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"io"
	"log/slog"
	"net/http"
	neturl "net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"relevel/cmd/relevel/client"
	"relevel/cmd/relevel/demo/pictures"
	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/s3photos/s3test"
	"relevel/jobs"
)

// serveFirst starts the embedded default on an empty folder; its greeting says how
// to enter.
func serveFirst(t *testing.T, dir string) (*process, ready) {
	t.Helper()
	p := launch(t, nil, "serve", "--listen", "127.0.0.1:0", "--data", dir)
	greeting := p.line() + p.line()
	url := regexp.MustCompile(`serves at (http://[^\s]+)`).FindStringSubmatch(greeting)
	if url == nil || !strings.Contains(greeting, url[1]+"/invitation#") {
		t.Fatalf("it greets with %q", greeting)
	}
	return p, ready{URL: url[1], Token: tokenIn(t, dir)}
}

// tokenIn is the token for programs that a data folder keeps.
func tokenIn(t *testing.T, dir string) string {
	t.Helper()
	first, err := readAccess(accessPath(dir))
	if err != nil {
		t.Fatal(err)
	}
	return first.Token
}

var beginLink = regexp.MustCompile(`/invitation#(\w+)`)

// begin makes the first account by the link that a server printed.
func begin(t *testing.T, url, link string) {
	t.Helper()
	form := neturl.Values{"link": {link}, "firm": {"Level Best"}, "words": {"NZ"}, "name": {"Mere Kohu"}, "email": {"mere@example.com"}, "password": {"wattle stump level bearer"}}
	once := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	resp, err := once.PostForm(url+"/invitation/accept", form)
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if resp.StatusCode != http.StatusSeeOther || resp.Header.Get("Location") != "/" {
		t.Errorf("the first person is answered %d, and led to %q", resp.StatusCode, resp.Header.Get("Location"))
	}
}

// stopAtFirst tells a program to stop when it has said its first word.
type stopAtFirst struct {
	bytes.Buffer
	stop context.CancelFunc
}

func (w *stopAtFirst) Write(p []byte) (int, error) {
	w.stop()
	return w.Buffer.Write(p)
}

// A signal to stop ends the server well whenever it comes: while it says where it is, and
// before it serves.
func TestToldToStopEarly(t *testing.T) {
	for _, serves := range []bool{true, false} {
		ctx, stop := context.WithCancel(context.Background())
		defer stop()
		if !serves {
			stop()
		}
		out, errs := &stopAtFirst{stop: stop}, &bytes.Buffer{}
		env := []string{"PATH=" + os.Getenv("PATH"), localpg.BinariesVariable + "=" + os.Getenv(localpg.BinariesVariable)}
		dir := filepath.Join(openFolder(t), "data")
		if status := run(ctx, []string{"serve", "--listen", "127.0.0.1:0", "--data", dir}, env, strings.NewReader(""), out, errs); status != exitOK {
			t.Errorf("it ended with status %d: %s", status, errs)
		}
		if strings.Contains(out.String(), "serves at") != serves {
			t.Errorf("it said %q", out)
		}
		if left := processesOn(t, dir); len(left) > 0 {
			t.Errorf("still running: %v", left)
		}
	}
}

// TestServe starts the embedded default on an empty folder and enters.
func TestServe(t *testing.T) {
	dir := filepath.Join(openFolder(t), "data")
	p, r := serveFirst(t, dir)
	if status, body := fetch(t, r, "/api/v1/jobs"); status != http.StatusOK || !bytes.Contains(body, []byte(`"jobs":[]`)) {
		t.Errorf("the jobs of the first firm: %d %s", status, body)
	}
	if status, _ := fetch(t, ready{URL: r.URL, Token: "rl_no_token"}, "/api/v1/jobs"); status != http.StatusUnauthorized {
		t.Errorf("a made-up token is answered %d, want 401", status)
	}
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Errorf("told to stop, it ended with %v: %s", err, p.errs)
	}

	first, err := readAccess(accessPath(dir))
	if err != nil {
		t.Fatal(err)
	}
	p = launch(t, nil, "serve", "--listen", "127.0.0.1:0", "--data", dir, "--log-json", "--quiet")
	again := p.line() + p.line()
	link := beginLink.FindStringSubmatch(again)
	if link == nil || link[1] != first.Link {
		t.Fatalf("the second start greets with %q, want the link of the first", again)
	}
	begin(t, strings.Fields(again)[4], link[1])
	if err := p.end(syscall.SIGTERM); err != nil || p.errs.String() != "" {
		t.Errorf("a quiet run ended with %v and said %q", err, p.errs)
	}
	if out, errs, err := once(t, nil, "access", "--data", dir, "list"); err != nil || !strings.Contains(out, "Mere Kohu  office  mere@example.com") {
		t.Errorf("access list: %v %s %s", err, out, errs)
	}
	for _, whom := range [][]string{{"Mere Kohu"}, {"mere@example.com"}, nil} {
		out, errs, err := once(t, []string{envURL + "=https://levels.example/"}, append([]string{"access", "--data", dir, "link"}, whom...)...)
		if err != nil || !strings.HasPrefix(out, "https://levels.example/invitation#") {
			t.Errorf("a link for %q: %v %s %s", whom, err, out, errs)
		}
	}
	if _, errs, err := once(t, nil, "access", "--data", dir, "link", "nobody"); err == nil || !strings.Contains(errs, `0 people are called "nobody"`) {
		t.Errorf("a link for nobody: %v %s", err, errs)
	}
	p = launch(t, nil, "serve", "--listen", "127.0.0.1:0", "--data", dir, "--log-json", "--quiet")
	if last := p.line() + p.line(); !strings.Contains(last, "/enter") || strings.Contains(last, "#") {
		t.Errorf("with an account it greets with %q", last)
	}
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Error(err)
	}
	if left := processesOn(t, dir); len(left) > 0 {
		t.Errorf("still running: %v", left)
	}
}

// TestServeTLS serves https by an authority of its own, whose root is to be had
// over plain http.
func TestServeTLS(t *testing.T) {
	dir := filepath.Join(openFolder(t), "data")
	p := launch(t, nil, "serve", "--listen", "127.0.0.1:0", "--data", dir, "--tls")
	greeting := p.line() + p.line() + p.line()
	at := regexp.MustCompile(`serves at https://([^\s]+)`).FindStringSubmatch(greeting)
	if at == nil || !beginLink.MatchString(greeting) || !strings.Contains(greeting, "http://"+at[1]+"/trust") {
		t.Fatalf("it greets with %q", greeting)
	}
	hungUp := dawdlers(t, at[1])
	wantShortHeads(t, at[1])
	resp, err := http.Get("http://" + at[1] + "/root.crt")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	der, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	root, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(root)
	phone := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}}}
	r, err := http.NewRequestWithContext(t.Context(), "GET", "https://"+at[1]+"/api/v1/jobs", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+tokenIn(t, dir))
	answer, err := phone.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		t.Errorf("over TLS the jobs answer %d", answer.StatusCode)
	}
	hungUp()
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Errorf("told to stop, it ended with %v: %s", err, p.errs)
	}
}

// TestConfigured goes the way of a firm with a database and an S3 server of its
// own: migrate, add a firm, serve.
func TestConfigured(t *testing.T) {
	ctx := context.Background()
	dir := openFolder(t)
	pg, err := localpg.Start(ctx, localpg.Config{Dir: filepath.Join(dir, "postgres"), Roles: pgdb.Roles(), Scratch: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { pg.Stop() })
	env := []string{
		envAdmin + "=" + pg.DSN(localpg.Superuser, "postgres"),
		envOwner + "=" + pg.DSN(pgdb.Owner, "firms"),
		envDatabase + "=" + pg.DSN(pgdb.App, "firms"),
		envWorker + "=" + pg.DSN(pgdb.Worker, "firms"),
	}
	run := func(args ...string) (string, string, error) { return once(t, env, args...) }

	if _, errs, err := run("migrate"); err == nil {
		t.Errorf("migrated a database that is not there: %s", errs)
	}
	if _, errs, err := run("migrate", "--prepare"); err != nil {
		t.Fatalf("migrate --prepare: %v %s", err, errs)
	}
	if out, errs, err := run("migrate"); err != nil || !strings.HasPrefix(out, "the schema is at version ") {
		t.Errorf("migrated again: %v %s %s", err, out, errs)
	}
	out, errs, err := run("firm", "--data", dir, "--words", "nz", "add", "A firm")
	made := regexp.MustCompile(`^firm   (\S+)\ntoken  (rl_\w+)\nlink   /invitation#\w+\n$`).FindStringSubmatch(out)
	if err != nil || made == nil {
		t.Fatalf("firm add: %v %q %s", err, out, errs)
	}
	if out, errs, err := run("firm", "--data", dir, "token", made[1], "office"); err != nil || !strings.HasPrefix(out, "token  rl_") || strings.Contains(out, made[2]) {
		t.Errorf("firm token: %v %q %s", err, out, errs)
	}
	if _, errs, err := run("firm", "--data", dir, "token", "01a1da24-b080-7349-9f7d-fdb6f483f2b5", "office"); err == nil || !strings.Contains(errs, "not found") {
		t.Errorf("a token for nobody: %v %s", err, errs)
	}
	serveConfigured(t, dir, env, made[2])
}

func serveConfigured(t *testing.T, dir string, env []string, token string) {
	t.Helper()
	ctx := context.Background()
	set, err := readSettings(dir, readEnvironment(env))
	if err != nil {
		t.Fatal(err)
	}
	bucket := s3test.Start(t)
	set.s3 = &bucket
	i, err := start(ctx, set, "127.0.0.1:0", slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := i.Close(); err != nil {
			t.Error(err)
		}
	}()
	c := client.New(i.url, token)
	jpeg, err := pictures.Draw(pictures.Gap{Support: "B1-1", GapMM: 20})
	if err != nil {
		t.Fatal(err)
	}
	digest := events.Digest(sha256.Sum256(jpeg))
	if err := c.PutPhoto(ctx, digest, jpeg); err != nil {
		t.Fatal(err)
	}
	job := jobs.Job{Name: "a job", Zone: "UTC"} // the sweep looks at firms that have one
	if err := c.CreateJob(ctx, job); err != nil {
		t.Fatal(err)
	}
	firm, _, err := jobs.ParseToken(token)
	if err != nil {
		t.Fatal(err)
	}
	state := func() events.FileState {
		k, err := i.stores.photos.Ledger.Find(ctx, firm, digest)
		if err != nil {
			t.Fatal(err)
		}
		return k.State
	}
	if got := state(); got != events.FileStored {
		t.Errorf("a photo just sent is %s, want stored", got)
	}
	i.sweep(ctx, time.Now())
	if got := state(); got != events.FileStored {
		t.Errorf("read back at once it is %s, want it left for a while", got)
	}
	i.sweep(ctx, time.Now().Add(2*settleTime))
	if got := state(); got != events.FileDurable {
		t.Errorf("read back later it is %s, want durable", got)
	}
	was, err := i.stores.photos.Ledger.Find(ctx, firm, digest)
	if err != nil {
		t.Fatal(err)
	}
	now := was // a store that was wrong for a while
	now.State, now.Reason = events.FileReceived, "other bytes"
	if err := i.stores.photos.Ledger.Change(ctx, was, now); err != nil {
		t.Fatal(err)
	}
	i.sweep(ctx, time.Now().Add(4*settleTime))
	if got := state(); got != events.FileDurable {
		t.Errorf("with its bytes back it is %s, want durable", got)
	}
}

// TestSchemaBehind: a server does not migrate a database that is not its own.
func TestSchemaBehind(t *testing.T) {
	ctx := context.Background()
	dir := openFolder(t)
	pg, err := localpg.Start(ctx, localpg.Config{Dir: filepath.Join(dir, "postgres"), Roles: pgdb.Roles(), Scratch: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { pg.Stop() })
	admin := pg.DSN(localpg.Superuser, "postgres")
	if err := pgdb.EnsureRoles(ctx, admin); err != nil {
		t.Fatal(err)
	}
	if err := pgdb.EnsureDatabase(ctx, admin, "empty"); err != nil {
		t.Fatal(err)
	}
	_, errs, err := once(t, []string{envDatabase + "=" + pg.DSN(pgdb.App, "empty")}, "serve", "--listen", "127.0.0.1:0", "--data", dir)
	if err == nil || !strings.Contains(errs, "run relevel migrate") {
		t.Errorf("on an empty database: %v %s", err, errs)
	}
}
