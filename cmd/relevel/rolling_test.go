//go:build rolling

package main

import (
	"crypto/rand"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"relevel/cmd/relevel/client"
	"relevel/cmd/relevel/demo"
	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
)

// Each stage's program works on its own database while the next stage's migrates it,
// and both serve it side by side until the old one leaves, as in an upgrade of several
// servers. The present program is the last stage. No request may fail, and whatever was
// acknowledged by either has to be in the log.
//
// `make rolling` builds the programs; ROLLING_FROM limits it to the pair that begins
// there.
func TestRolling(t *testing.T) {
	all := earlierStates(t)
	for i, e := range all {
		stage := e.stage()
		if only := os.Getenv("ROLLING_FROM"); only != "" && only != stage {
			continue
		}
		next := "this"
		if i+1 < len(all) {
			next = all[i+1].stage()
		}
		t.Run(stage+"/"+next, func(t *testing.T) { roll(t, e, stage, next) })
	}
}

func (e earlier) stage() string { return strings.TrimSuffix(filepath.Base(e.dump), ".sql.gz") }

// phase is how long requests go on between two steps.
const phase = 3 * time.Second

func roll(t *testing.T, e earlier, old, next string) {
	d := e.restored(t)
	env := []string{envOwner + "=" + d.DSN(pgdb.Owner), envDatabase + "=" + d.DSN(pgdb.App), envWorker + "=" + d.DSN(pgdb.Worker)}
	p := &pressing{t: t, earlier: e}

	one := serveStage(t, old, env)
	p.press(one.url, "the old one")
	time.Sleep(phase)
	began := time.Now()
	out, err := stageCommand(next, env, "migrate").CombinedOutput()
	if err != nil {
		t.Fatalf("migrate by %s: %v %s", next, err, out)
	}
	took := time.Since(began)
	time.Sleep(phase)
	two := serveStage(t, next, env)
	p.press(two.url, "the new one")
	time.Sleep(phase)
	p.leave(one.url)
	one.end()
	time.Sleep(phase)
	p.leave(two.url)
	two.end()
	p.kept(d)
	t.Logf("%s, migrated in %s by %s (%s): %d requests to the old one, %d to the new, %d records acknowledged, %d failed",
		old, took.Round(time.Millisecond), next, strings.TrimSpace(string(out)), p.asked[one.url].Load(), p.asked[two.url].Load(), len(p.acknowledged), p.failed.Load())
}

// stageCommand is a command line for a stage's program.
func stageCommand(stage string, env []string, args ...string) *exec.Cmd {
	if stage == "this" {
		return commandLine(env, args...)
	}
	cmd := exec.Command(filepath.Join("..", "..", "bin", "earlier", stage), args...)
	cmd.Env = append([]string{"PATH=" + os.Getenv("PATH"), "HOME=" + os.Getenv("HOME"), "TMPDIR=" + os.TempDir(), localpg.BinariesVariable + "=" + os.Getenv(localpg.BinariesVariable)}, env...)
	return cmd
}

type stageServer struct {
	t   *testing.T
	cmd *exec.Cmd
	url string
}

func serveStage(t *testing.T, stage string, env []string) *stageServer {
	t.Helper()
	s := &stageServer{t: t, cmd: stageCommand(stage, env, "serve", "--listen", "127.0.0.1:0", "--data", openFolder(t))}
	said := &lockedBuffer{}
	s.cmd.Stdout, s.cmd.Stderr = said, said
	must(t, s.cmd.Start())
	t.Cleanup(func() { s.cmd.Process.Kill() })
	at := regexp.MustCompile(`serves at (http://\S+)`)
	for until := time.Now().Add(patience); time.Now().Before(until); time.Sleep(20 * time.Millisecond) {
		if found := at.FindStringSubmatch(said.String()); found != nil {
			s.url = found[1]
			return s
		}
	}
	t.Fatalf("%s does not serve: %s", stage, said)
	return nil
}

func (s *stageServer) end() {
	s.t.Helper()
	must(s.t, s.cmd.Process.Signal(syscall.SIGTERM))
	if err := s.cmd.Wait(); err != nil {
		s.t.Errorf("told to stop, it ended with %v", err)
	}
}

// pressing asks servers again and again.
type pressing struct {
	t *testing.T
	earlier

	failed atomic.Int64
	asked  map[string]*atomic.Int64
	stops  map[string]func()

	mu           sync.Mutex
	acknowledged map[events.ID]events.ID // records and their jobs
}

// press begins to ask a server: one phone that records, and two that read.
func (p *pressing) press(url, name string) {
	if p.asked == nil {
		p.asked, p.stops, p.acknowledged = map[string]*atomic.Int64{}, map[string]func(){}, map[events.ID]events.ID{}
	}
	count, stop := &atomic.Int64{}, make(chan struct{})
	p.asked[url] = count
	var busy sync.WaitGroup
	p.stops[url] = func() { close(stop); busy.Wait() }
	repeat := func(once func(n int) error) {
		busy.Go(func() {
			for n := 0; ; n++ {
				select {
				case <-stop:
					return
				case <-time.After(20 * time.Millisecond): // within 200 requests a second of one access
				}
				if err := once(n); err != nil {
					p.failed.Add(1)
					p.t.Errorf("%s: %v", name, err)
				}
				count.Add(1)
			}
		})
	}
	phone, err := demo.NewPhone(time.Now(), rand.Reader)
	must(p.t, err)
	repeat(func(n int) error { return p.record(url, phone, n) })
	repeat(func(n int) error { return p.read(url, n) })
	repeat(func(n int) error { return p.read(url, n+1) })
}

func (p *pressing) leave(url string) { p.stops[url]() }

func (p *pressing) record(url string, phone *demo.Phone, n int) error {
	job := p.Jobs[n%len(p.Jobs)].Job
	in, err := phone.Seal(job, 0, demo.Entry{Kind: events.KindNote, Body: &events.Note{Text: fmt.Sprint("while it is migrated, ", n)}, At: time.Now()})
	if err != nil {
		return err
	}
	if _, err := client.New(url, p.Token).Append(p.t.Context(), job, []events.Incoming{in}); err != nil {
		return err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.acknowledged[in.Event.ID] = job
	return nil
}

func (p *pressing) read(url string, n int) error {
	job := p.Jobs[n%len(p.Jobs)].Job.String()
	path := []string{"/api/v1/jobs", "/api/v1/jobs/" + job + "/state", "/api/v1/people", "/api/v1/jobs/" + job + "/events?limit=50", "/readyz"}[n%5]
	r, err := http.NewRequestWithContext(p.t.Context(), http.MethodGet, url+path, nil)
	if err != nil {
		return err
	}
	r.Header.Set("Authorization", "Bearer "+p.Token)
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err == nil && resp.StatusCode != http.StatusOK {
		err = fmt.Errorf("%s is answered %d: %.200s", path, resp.StatusCode, body)
	}
	return err
}

// kept looks for every acknowledged record in the log.
func (p *pressing) kept(d *pgtest.DB) {
	p.t.Helper()
	log, firm := pglog.New(d.App), firmOfToken(p.t, p.Token)
	for _, j := range p.Jobs {
		there := map[events.ID]bool{}
		all, err := log.Read(p.t.Context(), firm, j.Job, 0, 100_000)
		must(p.t, err)
		for i, s := range all {
			there[s.Event.ID] = true
			if s.Seq != int64(i+1) {
				p.t.Fatalf("job %s: number %d comes where %d should", j.Job, s.Seq, i+1)
			}
		}
		head, err := log.Head(p.t.Context(), firm, j.Job)
		must(p.t, err)
		if rootOf(all) != fmt.Sprintf("%x", head.Root[:]) {
			p.t.Errorf("job %s: its root is not that of its records", j.Job)
		}
		for id, job := range p.acknowledged {
			if job == j.Job && !there[id] {
				p.t.Errorf("record %s was acknowledged and is not in the log", id)
			}
		}
	}
}
