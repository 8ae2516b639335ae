package localpg_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/deploy/localpg"
)

// heldFolder makes the test binary a process that runs a server until it is
// killed.
const heldFolder = "RELEVEL_LOCALPG_FOLDER"

func TestMain(m *testing.M) {
	if dir := os.Getenv(heldFolder); dir != "" {
		holdServer(dir)
	}
	os.Exit(m.Run())
}

// holdServer prints the pid of its Postgres and waits.
func holdServer(dir string) {
	s, err := localpg.Start(context.Background(), localpg.Config{Dir: dir})
	if err != nil {
		fmt.Println("error:", err)
		os.Exit(1)
	}
	fmt.Println(s.PID())
	select {}
}

// holder is another process that runs a server on a folder.
func holder(t *testing.T, dir string, account *syscall.Credential) (cmd *exec.Cmd, postgres int) {
	t.Helper()
	cmd = exec.Command(ourselves(t))
	cmd.Env = append(os.Environ(), heldFolder+"="+dir)
	cmd.Dir = filepath.Dir(dir)
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: account}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	line, _ := bufio.NewReader(out).ReadString('\n')
	postgres, err = strconv.Atoi(strings.TrimSpace(line))
	if err != nil {
		t.Fatalf("the other process says %q", line)
	}
	return cmd, postgres
}

// ourselves is a copy of the test binary that any account may run.
func ourselves(t *testing.T) string {
	t.Helper()
	program, err := os.ReadFile(os.Args[0])
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(filepath.Dir(folder(t)), "holder")
	if err := os.WriteFile(path, program, 0o755); err != nil {
		t.Fatal(err)
	}
	return path
}

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

// Postgres is killed with -9: it is started again, and what was committed is there.
func TestPostgresKilled(t *testing.T) {
	s := start(t, localpg.Config{Dir: folder(t)})
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
}

// The whole program is killed with -9: no Postgres stays behind, and the next
// start on the folder works, whether it comes at once or later.
func TestProgramKilled(t *testing.T) {
	dir := folder(t)
	for range 2 {
		program, postgres := holder(t, dir, nil)
		if err := program.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		program.Wait()
		s := start(t, localpg.Config{Dir: dir}) // waits for its predecessor
		if alive(postgres) {
			t.Errorf("the Postgres of the killed program, process %d, is still there", postgres)
		}
		if err := s.Stop(); err != nil {
			t.Error(err)
		}
	}
}

// Another account runs a server of its own, and nobody else gets in.
func TestAnotherAccount(t *testing.T) {
	if os.Geteuid() != 0 {
		t.Log("not root: this account's own server is what the other tests start")
		return
	}
	nobody := credential(t, "nobody")
	dir := folder(t)
	if err := os.Chown(filepath.Dir(dir), int(nobody.Uid), int(nobody.Gid)); err != nil {
		t.Fatal(err)
	}
	program, postgres := holder(t, dir, nobody)
	if !alive(postgres) {
		t.Error("no server")
	}
	program.Process.Signal(syscall.SIGKILL)
	program.Wait()
	eventually(t, "its Postgres ends with it", func() bool { return !alive(postgres) })
}

func credential(t *testing.T, name string) *syscall.Credential {
	t.Helper()
	u, err := user.Lookup(name)
	if err != nil {
		t.Fatal(err)
	}
	uid, err1 := strconv.ParseUint(u.Uid, 10, 32)
	gid, err2 := strconv.ParseUint(u.Gid, 10, 32)
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
}

// A socket that others could reach would make anybody a superuser.
func TestOthersCannotConnect(t *testing.T) {
	if os.Geteuid() != 0 {
		t.Log("not root: no other account to try with")
		return
	}
	s := start(t, localpg.Config{Dir: folder(t)})
	psql := exec.Command("psql", s.DSN(localpg.Superuser, "postgres"), "-c", "SELECT 1")
	psql.Dir = "/"
	psql.SysProcAttr = &syscall.SysProcAttr{Credential: credential(t, "nobody")}
	if out, err := psql.CombinedOutput(); err == nil {
		t.Errorf("another account got in: %s", out)
	}
}

func TestFolders(t *testing.T) {
	t.Run("ClosedParent", func(t *testing.T) {
		if os.Geteuid() != 0 {
			t.Log("not root: Postgres runs as this account, which is let in")
			return
		}
		dir := folder(t)
		if err := os.Chmod(filepath.Dir(dir), 0o700); err != nil {
			t.Fatal(err)
		}
		_, err := localpg.Start(t.Context(), localpg.Config{Dir: dir})
		if err == nil || !strings.Contains(err.Error(), filepath.Dir(dir)) {
			t.Errorf("%v, want it to name the folder that is closed", err)
		}
	})
	t.Run("LongName", func(t *testing.T) {
		dir := filepath.Join(filepath.Dir(folder(t)), strings.Repeat("a", 120), "postgres")
		if err := os.MkdirAll(filepath.Dir(dir), 0o755); err != nil {
			t.Fatal(err)
		}
		s := start(t, localpg.Config{Dir: dir})
		if got := query(t, s, "SELECT 'reached'::text"); got != "reached" {
			t.Errorf("%q", got)
		}
	})
	t.Run("SomethingElse", func(t *testing.T) {
		dir := folder(t)
		if err := os.MkdirAll(filepath.Join(dir, "letters"), 0o755); err != nil {
			t.Fatal(err)
		}
		_, err := localpg.Start(t.Context(), localpg.Config{Dir: dir})
		if err == nil || !strings.Contains(err.Error(), "holds something else") {
			t.Errorf("%v, want it to leave the folder alone", err)
		}
	})
}
