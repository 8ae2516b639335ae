package backups_test

import (
	"bufio"
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/deploy/backups"
	"relevel/events"
	"relevel/events/dirphotos"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
)

// These make the test binary another process: one that keeps a Postgres and writes, or
// one that follows it.
const (
	writesIn  = "RELEVEL_DRILL_WRITES"
	followsIn = "RELEVEL_DRILL_FOLLOWS"
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(writesIn); dir != "" {
		writeUnderLoad(dir)
	}
	if dir := os.Getenv(followsIn); dir != "" {
		followUnderLoad(dir)
	}
	os.Exit(m.Run())
}

// followUnderLoad follows what another process keeps, until it is killed.
func followUnderLoad(dir string) {
	pg, err := localpg.FindRunning(filepath.Join(dir, "postgres"))
	must(err)
	photos, err := dirphotos.Look(filepath.Join(dir, "photos"))
	must(err)
	place, err := backups.Open(filepath.Join(dir, "backups"))
	must(err)
	source := backups.Source{DSN: pg.DSN(pgdb.Backup, loadName), Cluster: pg.DSN(localpg.Superuser, "postgres"), Objects: photos,
		Program: "drill", Warn: func(text string) { fmt.Println(text) }}
	must(place.Follow(context.Background(), source, backups.Following{Every: time.Hour, Keep: 3, Look: 200 * time.Millisecond}))
}

// program is the test binary as another process, killed at the end whatever the test did.
type program struct {
	cmd *exec.Cmd
	in  io.Writer
	out *bufio.Scanner
}

func launch(t *testing.T, as, dir string) *program {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), as+"="+dir)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	return &program{cmd, in, bufio.NewScanner(out)}
}

// acknowledged is what the writers were answered.
type acknowledged struct {
	mu     sync.Mutex
	events map[string]bool // "job seq id"
	photos map[string]bool // "firm digest"
	count  atomic.Int64
}

func (a *acknowledged) read(p *program) {
	for p.out.Scan() {
		what, rest, _ := strings.Cut(p.out.Text(), " ")
		a.mu.Lock()
		switch what {
		case "event":
			a.events[rest] = true
			a.count.Add(1)
		case "photo":
			a.photos[rest] = true
		}
		a.mu.Unlock()
	}
}

// eventually waits for a condition; the limit is far from what it takes anywhere.
func eventually(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(2 * time.Minute); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if ok() {
			return
		}
	}
	t.Fatalf("%s: still not so after two minutes", what)
}

// TestDrill takes a base from a Postgres under load by several writers, follows it,
// kills everything at some instant, and restores from what was received alone: nothing
// that was acknowledged is missing.
func TestDrill(t *testing.T) {
	dir := openFolder(t)
	writers := launch(t, writesIn, dir)
	if !writers.out.Scan() || writers.out.Text() != "ready" {
		t.Fatalf("the writers say %q", writers.out.Text())
	}
	acked := &acknowledged{events: map[string]bool{}, photos: map[string]bool{}}
	read := make(chan bool)
	go func() { acked.read(writers); close(read) }()
	follower := launch(t, followsIn, dir)
	said := make(chan bool)
	go func() {
		for follower.out.Scan() {
			t.Log(follower.out.Text())
		}
		close(said)
	}()
	into := filepath.Join(dir, "backups")
	eventually(t, "a base was made under load", func() bool { _, err := backups.Newest(into); return err == nil })

	// From now on a commit is answered only after the follower has it.
	pg, err := localpg.FindRunning(filepath.Join(dir, "postgres"))
	if err != nil {
		t.Fatal(err)
	}
	execute(t, pg.DSN(localpg.Superuser, "postgres"), "ALTER SYSTEM SET synchronous_standby_names = 'relevel_backup'", "SELECT pg_reload_conf()")
	eventually(t, "commits wait for the follower", func() bool {
		return number(t, pg.DSN(localpg.Superuser, "postgres"), `SELECT count(*) FROM pg_stat_replication WHERE sync_state = 'sync'`) == 1
	})
	fmt.Fprintln(writers.in, "no more photos")
	eventually(t, "all photos were copied", func() bool {
		acked.mu.Lock()
		defer acked.mu.Unlock()
		return len(acked.photos) > 0 && copies(into) >= len(acked.photos) && stopped(dir)
	})
	at := acked.count.Load()
	eventually(t, "more was written", func() bool { return acked.count.Load() > at+300 })
	killAll(t, dir, writers, follower)
	<-read
	<-said
	if err := os.RemoveAll(filepath.Join(dir, "postgres")); err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(filepath.Join(dir, "photos")); err != nil {
		t.Fatal(err)
	}
	checkDrill(t, dir, acked)
}

// killAll is the fire: kill -9 of the server's process, of Postgres and of the follower.
func killAll(t *testing.T, dir string, all ...*program) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, "postgres", "postmaster.pid"))
	if err != nil {
		t.Fatal(err)
	}
	var postmaster int
	fmt.Sscan(string(text), &postmaster)
	for _, p := range all {
		p.cmd.Process.Kill()
	}
	syscall.Kill(postmaster, syscall.SIGKILL)
	for _, p := range all {
		p.cmd.Process.Wait()
	}
	// The backends of a killed postmaster write on for a moment into what is removed.
	eventually(t, "nothing works in the folder", func() bool { return !worked(filepath.Join(dir, "postgres")) })
}

func checkDrill(t *testing.T, dir string, acked *acknowledged) {
	t.Helper()
	photos, err := dirphotos.Open(filepath.Join(dir, "restored-photos"))
	if err != nil {
		t.Fatal(err)
	}
	defer photos.Close()
	to := filepath.Join(dir, "restored")
	r := backups.Restore{Dir: filepath.Join(dir, "backups"), Objects: photos}
	done, err := r.Local(t.Context(), to, loadName)
	if err != nil {
		t.Fatal(err)
	}
	if len(done.Faults) > 0 || done.Lost > 0 || done.Backup.Kind != backups.KindBase || done.Audit.Checkpoints == 0 {
		t.Errorf("it finds %+v", done)
	}
	pg, err := localpg.Start(t.Context(), localpg.Config{Dir: to, Roles: pgdb.Roles()})
	if err != nil {
		t.Fatal(err)
	}
	defer pg.Stop()
	there := stored(t, pg.DSN(pgdb.Backup, loadName))
	lost := 0
	for one := range acked.events {
		if !there[one] {
			lost++
		}
	}
	if lost > 0 || len(acked.events) == 0 {
		t.Errorf("of %d events that were acknowledged %d are lost", len(acked.events), lost)
	}
	for one := range acked.photos {
		k, known := events.ParseKey(strings.Replace(one, " ", "/", 1))
		if !known {
			t.Fatalf("the writers kept %q", one)
		}
		body, _, err := photos.Open(t.Context(), k)
		if err != nil {
			t.Error(err)
			continue
		}
		h := sha256.New()
		io.Copy(h, body)
		body.Close()
		if events.Digest(h.Sum(nil)) != k.SHA256 {
			t.Errorf("photo %s is not what was sent", k)
		}
	}
	t.Logf("acknowledged %d events, lost %d; %d in the restored log; photos %d; database back in %s",
		len(acked.events), lost, len(there), len(acked.photos), done.Database.Round(time.Millisecond))
}

// stored lists what is in a log, as the writers print what was acknowledged.
func stored(t *testing.T, dsn string) map[string]bool {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), dsn)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	rows, err := conn.Query(t.Context(), `SELECT format('%s %s %s', job, seq, id) FROM event`)
	if err != nil {
		t.Fatal(err)
	}
	all, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	there := map[string]bool{}
	for _, one := range all {
		there[one] = true
	}
	return there
}
