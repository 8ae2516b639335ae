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

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb/localpg"
)

// These make the test binary another process: one that runs a server on a
// folder until it is killed, or one that tries to connect.
const (
	heldFolder = "RELEVEL_LOCALPG_FOLDER"
	triedDSN   = "RELEVEL_LOCALPG_DSN"
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(heldFolder); dir != "" {
		holdServer(dir)
	}
	if dsn := os.Getenv(triedDSN); dsn != "" {
		fmt.Println(tryConnect(dsn))
		return
	}
	os.Exit(m.Run())
}

// holdServer prints the pid of its Postgres, or what is wrong, and waits.
func holdServer(dir string) {
	s, err := localpg.Start(context.Background(), localpg.Config{Dir: dir})
	if err != nil {
		fmt.Println("error:", err)
		os.Exit(1)
	}
	fmt.Println(s.PID())
	select {}
}

func tryConnect(dsn string) string {
	conn, err := pgx.Connect(context.Background(), dsn)
	if err != nil {
		return fmt.Sprintf("refused: %v", err)
	}
	conn.Close(context.Background())
	return "let in"
}

// ourselves is the test binary as another process of some account, nil for our
// own, with one variable set.
func ourselves(t *testing.T, account *syscall.Credential, variable, value string) *exec.Cmd {
	t.Helper()
	program, err := os.ReadFile(os.Args[0])
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(filepath.Dir(folder(t)), "program") // where any account may run it
	if err := os.WriteFile(path, program, 0o755); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(path)
	cmd.Dir = "/"
	cmd.Env = append(os.Environ(), variable+"="+value)
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: account}
	return cmd
}

// held runs a server on a folder in another process. It returns the process
// and what it says of its Postgres.
func held(t *testing.T, dir string, account *syscall.Credential) (cmd *exec.Cmd, said string) {
	t.Helper()
	cmd = ourselves(t, account, heldFolder, dir)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	line, _ := bufio.NewReader(out).ReadString('\n')
	return cmd, strings.TrimSpace(line)
}

// holder is held where the server runs.
func holder(t *testing.T, dir string, account *syscall.Credential) (cmd *exec.Cmd, postgres int) {
	t.Helper()
	cmd, said := held(t, dir, account)
	postgres, err := strconv.Atoi(said)
	if err != nil {
		t.Fatalf("the other process says %q", said)
	}
	return cmd, postgres
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

// Another account, which is not root, runs a server of its own; what another
// account made it leaves alone, and says so.
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
	if owner := ownerOf(t, fmt.Sprintf("/proc/%d", postgres)); owner != int(nobody.Uid) {
		t.Errorf("its Postgres runs as user id %d, want %d", owner, nobody.Uid)
	}
	if err := program.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	program.Wait()
	eventually(t, "its Postgres ends with it", func() bool { return !alive(postgres) })

	t.Run("NotItsOwn", func(t *testing.T) {
		dir := folder(t)
		if err := os.Mkdir(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		if _, said := held(t, dir, nobody); !strings.Contains(said, "belongs to root") {
			t.Errorf("on a folder of root it says %q", said)
		}
	})
	t.Run("RootTakesOver", func(t *testing.T) {
		s := start(t, localpg.Config{Dir: dir})
		if owner := ownerOf(t, fmt.Sprintf("/proc/%d", s.PID())); owner != int(nobody.Uid) {
			t.Errorf("started by root it runs as user id %d, want %d, whose data it is", owner, nobody.Uid)
		}
	})
}

func ownerOf(t *testing.T, path string) int {
	t.Helper()
	var stat syscall.Stat_t
	if err := syscall.Stat(path, &stat); err != nil {
		t.Fatal(err)
	}
	return int(stat.Uid)
}

// A socket that others could reach would make anybody a superuser. Two fences
// stand before it: the folder is closed to them, and Postgres asks the kernel
// who is calling.
func TestOthersCannotConnect(t *testing.T) {
	if os.Geteuid() != 0 {
		t.Log("not root: no other account to try with")
		return
	}
	s := start(t, localpg.Config{Dir: folder(t), Scratch: true})
	dsn := s.DSN(localpg.Superuser, "postgres")
	try := func(account, want string) {
		t.Helper()
		said, err := ourselves(t, credential(t, account), triedDSN, dsn).Output()
		if err != nil || !strings.Contains(string(said), want) {
			t.Errorf("%s: %s, %v, want %q", account, said, err, want)
		}
	}
	try("root", "let in")
	try("nobody", "permission denied")

	config, err := pgx.ParseConfig(dsn)
	if err != nil {
		t.Fatal(err)
	}
	err = errors.Join(os.Chmod(config.Host, 0o755), os.Chmod(filepath.Join(config.Host, ".s.PGSQL.5432"), 0o777))
	if err != nil {
		t.Fatal(err)
	}
	try("nobody", "Peer authentication failed")
	try("root", "let in")
}
