//go:build installed

package check

import (
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/compose-spec/compose-go/v2/types"
)

// patience bounds each wait; nothing comes near it on a machine that is not overloaded.
const patience = 2 * time.Minute

// freePort is one that nobody listens on now.
func freePort(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}

// start runs a command until the test ends, and returns how to end it before.
func start(t *testing.T, cmd *exec.Cmd) (end func(syscall.Signal) error) {
	t.Helper()
	out, err := os.Create(filepath.Join(t.TempDir(), "words"))
	if err != nil {
		t.Fatal(err)
	}
	cmd.Stdout, cmd.Stderr = out, out
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	exited := make(chan error, 1)
	go func() { exited <- cmd.Wait() }()
	end = func(s syscall.Signal) error {
		cmd.Process.Signal(s)
		select {
		case err := <-exited:
			exited <- err
			return err
		case <-time.After(patience):
			cmd.Process.Kill()
			return fmt.Errorf("it went on for %s", patience)
		}
	}
	t.Cleanup(func() {
		end(syscall.SIGKILL)
		if said, err := os.ReadFile(out.Name()); err == nil && t.Failed() {
			t.Logf("%s said:\n%s", cmd.Args[0], said)
		}
		out.Close()
	})
	return end
}

// until asks again until it is told yes.
func until(t *testing.T, what string, yes func() bool) {
	t.Helper()
	for began := time.Now(); !yes(); time.Sleep(100 * time.Millisecond) {
		if time.Since(began) > patience {
			t.Fatalf("%s: not after %s", what, patience)
		}
	}
}

// startPostgres starts a server that asks everybody who comes over TCP for a password,
// as the image of the compose file does, with that of the superuser. It returns host and
// port.
func startPostgres(t *testing.T, passwordFile string) (address string) {
	t.Helper()
	programs, err := filepath.Glob("/usr/lib/postgresql/*/bin/postgres")
	if err != nil || len(programs) == 0 {
		t.Fatalf("no Postgres is installed: %v", err)
	}
	bin := filepath.Dir(slices.Max(programs))
	dir, err := os.MkdirTemp("", "relevel-pg-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	account, credential := accountOf(t, "postgres")
	if out, err := exec.Command("cp", "--", passwordFile, filepath.Join(dir, "password")).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	if out, err := exec.Command("chown", "-R", account, dir).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	data := filepath.Join(dir, "data")
	initdb := exec.Command(filepath.Join(bin, "initdb"), "-D", data, "-U", "postgres", "--auth=scram-sha-256",
		"--pwfile="+filepath.Join(dir, "password"), "--encoding=UTF8", "--locale=C.UTF-8", "--no-sync")
	initdb.Dir, initdb.SysProcAttr = dir, credential
	if out, err := initdb.CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	port := strconv.Itoa(freePort(t))
	server := exec.Command(filepath.Join(bin, "postgres"), "-D", data, "-p", port, "-k", dir, "-c", "fsync=off", "-c", "listen_addresses=127.0.0.1")
	server.Dir, server.SysProcAttr = dir, credential
	start(t, server)
	address = net.JoinHostPort("127.0.0.1", port)
	until(t, "Postgres listens", func() bool {
		c, err := net.Dial("tcp", address)
		if err == nil {
			c.Close()
		}
		return err == nil
	})
	return address
}

// startServer starts the program that was built here on an empty folder, and returns
// where it is and the token for programs.
func startServer(t *testing.T, env ...string) (url, token string) {
	t.Helper()
	dir, err := os.MkdirTemp("", "relevel-data-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o755); err != nil { // the account of Postgres passes through
		t.Fatal(err)
	}
	listen := net.JoinHostPort("127.0.0.1", strconv.Itoa(freePort(t)))
	program := filepath.Join(absolute(t, top), "bin", "relevel")
	cmd := exec.Command(program, "serve", "--listen", listen, "--data", filepath.Join(dir, "data"))
	cmd.Env = append(os.Environ(), env...)
	end := start(t, cmd)
	t.Cleanup(func() { end(syscall.SIGTERM) })
	url = "http://" + listen
	if out, err := exec.Command(program, "ready", "--wait", patience.String(), url).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	until(t, "there is a token", func() bool {
		text, err := os.ReadFile(filepath.Join(dir, "data", "access.json"))
		var access struct{ Token string }
		if err == nil && json.Unmarshal(text, &access) == nil {
			token = access.Token
		}
		return token != ""
	})
	return url, token
}

// startPhotos starts the S3 server of the compose file by the very words that it is
// started with there, but for where it keeps things and listens. It returns host and port.
func startPhotos(t *testing.T, s types.ServiceConfig, secrets string) (address string) {
	t.Helper()
	program := install(t, "github.com/versity/versitygw/cmd/versitygw", imageVersion(t, s.Image))
	address = net.JoinHostPort("127.0.0.1", strconv.Itoa(freePort(t)))
	folder := t.TempDir()
	script := strings.NewReplacer("/run/secrets", secrets, "/data/", folder+"/", "exec versitygw", "exec "+program, " :7070", " "+address).Replace(s.Command[0])
	line := append(s.Entrypoint[1:], script)
	start(t, exec.Command(s.Entrypoint[0], line...))
	health := strings.Replace(s.HealthCheck.Test[len(s.HealthCheck.Test)-1], "127.0.0.1:7070", address, 1)
	until(t, "the S3 server is healthy", func() bool {
		resp, err := http.Get(health)
		if err != nil {
			return false
		}
		resp.Body.Close()
		return resp.StatusCode == http.StatusOK
	})
	return address
}

// accountOf is an account of this machine, and what makes a child run as it.
func accountOf(t *testing.T, name string) (owner string, as *syscall.SysProcAttr) {
	t.Helper()
	u, err := user.Lookup(name)
	if err != nil {
		t.Fatal(err)
	}
	uid, uidErr := strconv.Atoi(u.Uid)
	gid, gidErr := strconv.Atoi(u.Gid)
	if uidErr != nil || gidErr != nil {
		t.Fatalf("%s has the ids %s:%s", name, u.Uid, u.Gid)
	}
	return u.Uid + ":" + u.Gid, &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}, Pdeathsig: syscall.SIGKILL}
}
