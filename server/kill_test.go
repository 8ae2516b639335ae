package server_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
	"relevel/jobs/pgjobs"
	"relevel/server"
)

// What a second process is told about what it serves.
const (
	servedDSN    = "RELEVEL_SERVED_DSN"
	servedFolder = "RELEVEL_SERVED_FOLDER"
)

// serveUntilKilled prints its address and serves.
func serveUntilKilled() {
	db, err := pgdb.Open(context.Background(), os.Getenv(servedDSN))
	if err != nil {
		panic(err)
	}
	config, err := configOn(db, os.Getenv(servedFolder))
	if err != nil {
		panic(err)
	}
	config.Logger = slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		panic(err)
	}
	fmt.Printf("http://%s\n", listener.Addr())
	panic(http.Serve(listener, server.New(config)))
}

// process is a server that can be killed.
type process struct {
	*exec.Cmd
	url string
}

func startProcess(t *testing.T, dsn string) process {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), servedDSN+"="+dsn, servedFolder+"="+t.TempDir())
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	must(t, err)
	must(t, cmd.Start())
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	url, err := bufio.NewReader(out).ReadString('\n')
	must(t, err)
	return process{cmd, strings.TrimSpace(url)}
}

// sent is one batch of a writer and whether it was acknowledged.
type sent struct {
	raws  []string
	acked []events.Result // nil: nobody knows
}

// writer appends batches one after the other until the server is gone.
func writer(ctx context.Context, c *caller, d *device) []sent {
	var all []sent
	for {
		s := sent{raws: []string{d.raw("note", `{"text":"one"}`), d.raw("note", `{"text":"two"}`), d.raw("note", `{"text":"three"}`)}}
		a, err := c.try(ctx, "POST", "/jobs/"+d.job.String()+"/events", batch(s.raws...))
		if err != nil || a.status != 200 {
			return append(all, s)
		}
		var got taken
		a.want(d.t, 200, &got)
		s.acked = got.Results
		all = append(all, s)
	}
}

// killed runs writers against a process, has it killed in the middle of their
// appends, and returns what each of them sent.
func killed(t *testing.T, c *caller, devices []*device, kill func()) [][]sent {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	all := make([][]sent, len(devices))
	var wg sync.WaitGroup
	for i, d := range devices {
		wg.Go(func() { all[i] = writer(ctx, c, d) })
	}
	time.Sleep(400 * time.Millisecond)
	kill()
	wg.Wait()
	return all
}

// checkLog checks that what was acknowledged is there under its number, that
// the numbers have no gap, and that sending everything once more adds nothing
// to what was acknowledged.
func checkLog(t *testing.T, c *caller, log events.Log, job events.ID, all [][]sent) {
	t.Helper()
	atSeq := numbered(t, c, log, job)
	acked := 0
	for _, list := range all {
		for _, s := range list {
			for i, r := range s.acked {
				acked++
				if r.Outcome != events.WasStored || atSeq[r.Seq] != s.raws[i] {
					t.Fatalf("acknowledged as %+v, and the log has %q there", r, atSeq[r.Seq])
				}
			}
		}
	}
	if acked < 30 {
		t.Errorf("only %d events were acknowledged before the kill: nothing was tested", acked)
	}
	repeatAll(t, c, job, all)
	again := numbered(t, c, log, job)
	total := 0
	for _, list := range all {
		total += 3 * len(list)
	}
	if len(again) != total {
		t.Errorf("the log has %d events after %d were sent, some twice", len(again), total)
	}
}

// numbered reads the log and checks that it has no gap.
func numbered(t *testing.T, c *caller, log events.Log, job events.ID) map[int64]string {
	t.Helper()
	atSeq := map[int64]string{}
	for after := int64(0); ; after += 1000 {
		page, err := log.Read(t.Context(), c.firm, job, after, 1000)
		must(t, err)
		for i, e := range page {
			if e.Seq != after+int64(i)+1 {
				t.Fatalf("seq %d follows %d", e.Seq, after+int64(i))
			}
			atSeq[e.Seq] = string(e.Raw)
		}
		if len(page) < 1000 {
			return atSeq
		}
	}
}

// repeatAll sends every batch again, as phones do that got no answer.
func repeatAll(t *testing.T, c *caller, job events.ID, all [][]sent) {
	t.Helper()
	for _, list := range all {
		for _, s := range list {
			var got taken
			c.send("POST", "/jobs/"+job.String()+"/events", batch(s.raws...)).want(t, 200, &got)
			for i, r := range s.acked {
				if got.Results[i].Outcome != events.WasRepeated || got.Results[i].Seq != r.Seq {
					t.Fatalf("a repeat of %+v is answered %+v", r, got.Results[i])
				}
			}
		}
	}
}

func TestServerKilled(t *testing.T) {
	db := sharedDB(t)
	first := startProcess(t, db.DSN(pgdb.App))
	c := newFirm(t, pgjobs.New(db.App), first.url, "Level Best")
	job := c.newJob()
	devices := []*device{newDevice(t, job), newDevice(t, job), newDevice(t, job), newDevice(t, job)}
	all := killed(t, c, devices, func() { must(t, first.Process.Signal(syscall.SIGKILL)) })
	if err := first.Wait(); err == nil {
		t.Error("the server ended well, want it killed")
	}
	c.url = startProcess(t, db.DSN(pgdb.App)).url
	checkLog(t, c, pglog.New(db.App), job, all)
}

func TestPostgresKilled(t *testing.T) {
	s := newSiteOn(t, pgtest.Own(t))
	c := s.firm("Level Best")
	job := c.newJob()
	devices := []*device{newDevice(t, job), newDevice(t, job), newDevice(t, job), newDevice(t, job)}
	all := killed(t, c, devices, func() { must(t, syscall.Kill(s.db.Server.PID(), syscall.SIGKILL)) })
	waitReady(t, s)
	checkLog(t, c, pglog.New(s.db.App), job, all)
}

// waitReady waits for the database to have recovered.
func waitReady(t *testing.T, s *site) {
	t.Helper()
	for deadline := time.Now().Add(20 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		resp, err := http.Get(s.URL + "/readyz")
		must(t, err)
		resp.Body.Close()
		if resp.StatusCode == 200 {
			return
		}
		if time.Now().After(deadline) {
			t.Fatal(errors.New("the database did not come back"))
		}
	}
}
