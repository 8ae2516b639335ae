//go:build bench

package bench

import (
	"bufio"
	"context"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/pglog"
	"relevel/jobs/pgjobs"
)

// database is the name that `relevel serve` gives to the one in its private Postgres.
const database = "relevel"

// served is the program as it is installed on one machine: `relevel serve` on a data
// folder with its private Postgres and photos beside it. It is a process of its own, so
// that what it costs, what Postgres costs and what whoever asks costs are told apart.
type served struct {
	*site
	t       *testing.T
	program string // the file
	dir     string // the data folder
	private string // where its figures and profiles are
	process *exec.Cmd
}

// built is the program, built anew for this test, without whose folder nothing stays.
func built(t *testing.T) string {
	t.Helper()
	program := filepath.Join(t.TempDir(), "relevel")
	c := exec.Command("go", "build", "-o", program, "../../cmd/relevel")
	if out, err := c.CombinedOutput(); err != nil {
		t.Fatalf("build the program: %v\n%s", err, out)
	}
	return program
}

// serve starts the program on a folder, or on a new one that is removed at the end, and
// makes a firm there.
func serve(t *testing.T, dir string) *served {
	t.Helper()
	if dir == "" {
		dir = openFolder(t)
	}
	s := &served{t: t, program: built(t), dir: dir, site: &site{firm: newID()}}
	s.client = &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 64}}
	s.start()
	s.enterOften(t)
	return s
}

// openFolder is a folder that the account of Postgres can pass through, on the disk that
// BENCH_DIR names or that of temporary files.
func openFolder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp(os.Getenv("BENCH_DIR"), "relevel-bench-")
	must(t, err)
	t.Cleanup(func() { os.RemoveAll(dir) })
	must(t, os.Chmod(dir, 0o755))
	return dir
}

// start has the program serve, and waits until it says where.
func (s *served) start() {
	s.t.Helper()
	s.process = exec.Command(s.program, "serve", "--quiet", "--data", s.dir, "--listen", "127.0.0.1:0", "--private", "127.0.0.1:0")
	s.process.Stderr = os.Stderr
	out, err := s.process.StdoutPipe()
	must(s.t, err)
	must(s.t, s.process.Start())
	s.t.Cleanup(func() { s.process.Process.Kill() })
	lines := bufio.NewScanner(out)
	s.address, s.private = "", ""
	for (s.address == "" || s.private == "") && lines.Scan() {
		if _, at, ok := strings.Cut(lines.Text(), " serves at "); ok {
			s.address = at
		}
		if _, at, ok := strings.Cut(lines.Text(), "run it: "); ok {
			s.private = strings.TrimSuffix(at, "/metrics")
		}
	}
	if s.private == "" {
		s.t.Fatal("the program does not say where it serves")
	}
	s.callers = &callers{address: strings.TrimPrefix(s.address, "http://")}
	go func() { // what else it says
		for lines.Scan() {
		}
	}()
	app, err := pgdb.Open(context.Background(), s.dsn(pgdb.App))
	must(s.t, err)
	s.t.Cleanup(app.Close)
	s.log, s.store = pglog.New(app), pgjobs.New(app)
}

// stop ends it as an operator does.
func (s *served) stop() {
	s.t.Helper()
	must(s.t, s.process.Process.Signal(syscall.SIGTERM))
	must(s.t, s.process.Wait())
}

// dsn is the address of its database for a role.
func (s *served) dsn(role string) string {
	s.t.Helper()
	running, err := localpg.FindRunning(filepath.Join(s.dir, "postgres"))
	must(s.t, err)
	return running.DSN(role, database)
}

// admin is a connection of Postgres's superuser to the database.
func (s *served) admin() *pgx.Conn {
	s.t.Helper()
	conn, err := pgx.Connect(s.t.Context(), s.dsn(localpg.Superuser))
	must(s.t, err)
	s.t.Cleanup(func() { conn.Close(context.Background()) })
	return conn
}

// execute runs statements as Postgres's superuser, one after the other.
func (s *served) execute(statements ...string) {
	s.t.Helper()
	conn := s.admin()
	defer conn.Close(context.Background())
	for _, sql := range statements {
		_, err := conn.Exec(s.t.Context(), sql)
		must(s.t, err)
	}
}

// ask reads one row.
func ask[T any](t *testing.T, conn *pgx.Conn, sql string, args ...any) (found T) {
	t.Helper()
	must(t, conn.QueryRow(t.Context(), sql, args...).Scan(&found))
	return found
}

// settled waits until what the program does behind its answers is done: for a second
// nothing more goes into the journal.
func (s *served) settled() {
	s.t.Helper()
	conn := s.admin()
	defer conn.Close(context.Background())
	for was := ""; ; time.Sleep(time.Second) {
		now := ask[string](s.t, conn, `SELECT pg_current_wal_insert_lsn()::text`)
		if now == was {
			return
		}
		was = now
	}
}

// run has the program do another command, and returns what it printed and how long it took.
func (s *served) run(args ...string) (string, time.Duration) {
	s.t.Helper()
	began := time.Now()
	out, err := exec.Command(s.program, args...).CombinedOutput()
	if err != nil {
		s.t.Fatalf("relevel %s: %v\n%s", strings.Join(args, " "), err, out)
	}
	return string(out), time.Since(began)
}

// enterOften makes the firm, and as many tokens as it takes to ask more often than the
// server lets one of them.
func (s *site) enterOften(t *testing.T) {
	s.enter(t)
	for range 63 {
		s.more = append(s.more, s.newToken(t, fmt.Sprintf("bench %d", len(s.more)+2)))
	}
}
