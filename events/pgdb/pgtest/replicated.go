package pgtest

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
)

// Replicated is a test's database on two servers of its own: a primary, whose commits
// wait for the other, which follows it. DSN and App name both, the primary first.
type Replicated struct {
	*DB
	Primary, Standby *localpg.Server
	folder           string // of the primary
}

// NewReplicated starts both, with durable settings.
func NewReplicated(t testing.TB) *Replicated {
	t.Helper()
	c, primary, err := start(t.Context(), false)
	if err != nil {
		t.Fatal(err)
	}
	endLater(t, primary)
	name := "test_" + randomName(t)
	c.create(t, name)
	standby, err := run(t.Context(), false, func(dir string) error { return copyServer(t.Context(), primary.Server, dir) })
	if err != nil {
		t.Fatal(err)
	}
	endLater(t, standby)
	r := &Replicated{Primary: primary.Server, Standby: standby.Server, folder: primary.folder}
	r.DB = &DB{Name: name, t: t, dsn: func(role, database string) string {
		return bothHosts(r.Primary.DSN(role, database), r.Standby.DSN(role, database))
	}}
	for _, statement := range []string{`ALTER SYSTEM SET synchronous_standby_names = 'ANY 1 (*)'`, `SELECT pg_reload_conf()`} {
		Ask(t, r.Primary, statement)
	}
	r.await("the standby follows", `SELECT count(*) = 1 FROM pg_stat_replication WHERE sync_state = 'quorum'`, r.Primary)
	r.App = r.Open(pgdb.App)
	return r
}

func endLater(t testing.TB, p private) {
	t.Cleanup(func() {
		if err := p.stop(); err != nil {
			t.Errorf("stop the test's own server: %v", err)
		}
	})
}

// copyServer makes the folder of a server that follows another.
func copyServer(ctx context.Context, of *localpg.Server, dir string) error {
	program, err := os.Readlink(fmt.Sprintf("/proc/%d/exe", of.PID()))
	if err != nil {
		return fmt.Errorf("find the server's programs: %w", err)
	}
	out, err := exec.CommandContext(ctx, filepath.Join(filepath.Dir(program), "pg_basebackup"),
		"--pgdata="+dir, "--write-recovery-conf", "--checkpoint=fast", "--dbname="+of.DSN(localpg.Superuser, "postgres")).CombinedOutput()
	if err != nil {
		return fmt.Errorf("copy the primary: %w: %s", err, out)
	}
	return nil
}

// bothHosts joins two addresses that differ in their hosts.
func bothHosts(first, second string) string {
	a, errA := url.Parse(first)
	b, errB := url.Parse(second)
	if errA != nil || errB != nil {
		panic("an address of our own cannot be read")
	}
	qa, qb := a.Query(), b.Query()
	for _, name := range []string{"host", "port"} {
		qa.Set(name, qa.Get(name)+","+qb.Get(name))
	}
	qa.Set("target_session_attrs", "read-write")
	a.RawQuery = qa.Encode()
	return a.String()
}

// Ask has a server run a statement as its superuser, and returns what a single value says.
func Ask(t testing.TB, s *localpg.Server, statement string) (value string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), bootTimeout)
	defer cancel()
	conn, err := pgx.Connect(ctx, s.DSN(localpg.Superuser, "postgres"))
	if err != nil {
		t.Fatalf("connect to a server for tests: %v", err)
	}
	defer conn.Close(ctx)
	rows, err := conn.Query(ctx, statement, pgx.QueryExecModeSimpleProtocol)
	if err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
	for rows.Next() {
		values, err := rows.Values()
		if err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
		value = fmt.Sprint(values[0])
	}
	if err := rows.Err(); err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
	return value
}

func (r *Replicated) await(what, question string, s *localpg.Server) {
	r.t.Helper()
	for end := time.Now().Add(bootTimeout); Ask(r.t, s, question) != "true"; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			r.t.Fatalf("it is not so that %s", what)
		}
	}
}

// Kill ends the primary as a loss of power does. Whoever watches over it starts it again:
// where it is fenced it comes back as a server that takes no writes, and else as the
// primary that it was.
func (r *Replicated) Kill(fenced bool) {
	r.t.Helper()
	if fenced {
		if err := os.WriteFile(filepath.Join(r.folder, "postgres", "standby.signal"), nil, 0o644); err != nil {
			r.t.Fatal(err)
		}
	}
	if err := syscall.Kill(r.Primary.PID(), syscall.SIGKILL); err != nil {
		r.t.Fatal(err)
	}
}

// Promote makes the standby the primary.
func (r *Replicated) Promote() {
	r.t.Helper()
	Ask(r.t, r.Standby, `SELECT pg_promote(true, 60)`)
	r.await("the standby takes writes", `SELECT NOT pg_is_in_recovery()`, r.Standby)
}

// Pause has a server stand still, as one that is cut off, until it is resumed: what it
// received it does not answer for.
func Pause(t testing.TB, s *localpg.Server) {
	t.Helper()
	signalAll(t, s, syscall.SIGSTOP)
	t.Cleanup(func() { signalAll(t, s, syscall.SIGCONT) })
}

// Resume has a paused server go on.
func Resume(t testing.TB, s *localpg.Server) {
	t.Helper()
	signalAll(t, s, syscall.SIGCONT)
}

// signalAll signals a server's first process and all that it forked.
func signalAll(t testing.TB, s *localpg.Server, sig syscall.Signal) {
	t.Helper()
	children, err := os.ReadFile(fmt.Sprintf("/proc/%d/task/%d/children", s.PID(), s.PID()))
	if err != nil {
		t.Fatal(err)
	}
	for _, pid := range append(strings.Fields(string(children)), strconv.Itoa(s.PID())) {
		n, err := strconv.Atoi(pid)
		if err == nil {
			err = syscall.Kill(n, sig)
		}
		if err != nil && !errors.Is(err, syscall.ESRCH) {
			t.Fatal(err)
		}
	}
}
