package localpg_test

import (
	"context"
	"fmt"
	"os"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb/localpg"
)

func eventually(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		if ok() {
			return
		}
	}
	t.Fatalf("%s: still not so after 20 s", what)
}

// alive tells whether a process runs; one that ended and was not collected by
// its parent does not.
func alive(pid int) bool {
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return false
	}
	_, state, _ := strings.Cut(string(stat), ") ")
	return !strings.HasPrefix(state, "Z")
}

// Postgres is killed with -9: it is started again, and what was committed is
// there. The folder has an awkward name.
func TestPostgresKilled(t *testing.T) {
	s := start(t, localpg.Config{Dir: folder(t) + `, "it's" 100% \ours`})
	query(t, s, "CREATE TABLE kept AS SELECT 'as it was'::text AS word")
	killed := s.PID()
	if err := syscall.Kill(killed, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	eventually(t, "it runs again", func() bool {
		conn, err := pgx.Connect(t.Context(), s.DSN(localpg.Superuser, "postgres"))
		if err != nil {
			return false
		}
		defer conn.Close(context.Background())
		return s.PID() != killed
	})
	if got := query(t, s, "SELECT word FROM kept"); got != "as it was" {
		t.Errorf("kept %q", got)
	}
	if err := s.Err(); err != nil {
		t.Errorf("while it runs: %v", err)
	}
}

// The whole program is killed with -9: no Postgres stays behind, and the next
// start on the folder works, whether it comes at once or later.
func TestProgramKilled(t *testing.T) {
	dir := folder(t)
	for _, when := range []string{"AtOnce", "Later"} {
		program, postgres := holder(t, dir, nil)
		if _, err := localpg.Start(t.Context(), localpg.Config{Dir: dir}); err == nil || !strings.Contains(err.Error(), "in use by another process") {
			t.Errorf("a start beside another process: %v", err)
		}
		if err := program.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		program.Wait()
		if when == "Later" {
			began := time.Now()
			eventually(t, "no Postgres is left", func() bool { return !alive(postgres) })
			if took := time.Since(began); took > 5*time.Second {
				t.Errorf("its Postgres ended after %s", took)
			}
		}
		s := start(t, localpg.Config{Dir: dir}) // waits for its predecessor
		if alive(postgres) {
			t.Errorf("%s: the Postgres of the killed program, process %d, is still there", when, postgres)
		}
		query(t, s, "CREATE TABLE IF NOT EXISTS kept AS SELECT '"+when+"'::text AS word")
		if got := query(t, s, "SELECT word FROM kept"); got != "AtOnce" {
			t.Errorf("%s: kept %q", when, got)
		}
		if err := s.Stop(); err != nil {
			t.Error(err)
		}
	}
}

// A Postgres that cannot be kept running is given up, with the reason.
func TestGivesUp(t *testing.T) {
	s := start(t, localpg.Config{Dir: folder(t), Scratch: true})
	for end := time.Now().Add(20 * time.Second); s.Err() == nil && time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		syscall.Kill(s.PID(), syscall.SIGKILL)
	}
	select {
	case <-s.Done():
	default:
		t.Fatal("it goes on for ever")
	}
	if err := s.Err(); err == nil || !strings.Contains(err.Error(), "died") {
		t.Errorf("%v, want it to say that Postgres died", err)
	}
}
