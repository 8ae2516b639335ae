package main

import (
	"bufio"
	"bytes"
	"fmt"
	"math/rand/v2"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"relevel/events/pgdb/localpg"
)

// patience bounds each wait of these tests; nothing in them comes near it on a
// machine that is not overloaded.
const patience = 60 * time.Second

// openFolder is a folder that the account of Postgres can pass through; that of
// t.TempDir lies in one that is closed to others.
func openFolder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "relevel-test-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	return dir
}

// process is the program, running.
type process struct {
	t      *testing.T
	cmd    *exec.Cmd
	out    *bufio.Reader
	errs   *lockedBuffer
	exited chan error
}

// commandLine is a command line for the program, with nothing of this process's
// settings.
func commandLine(env []string, args ...string) *exec.Cmd {
	cmd := exec.Command(os.Args[0], args...)
	cmd.Env = append([]string{asProgram + "=1", "PATH=" + os.Getenv("PATH"), "HOME=" + os.Getenv("HOME"), "TMPDIR=" + os.TempDir(), localpg.BinariesVariable + "=" + os.Getenv(localpg.BinariesVariable)}, env...)
	return cmd
}

// launch starts the program. Whatever the test does, it is gone at the end.
func launch(t *testing.T, env []string, args ...string) *process {
	t.Helper()
	p := &process{t: t, cmd: commandLine(env, args...), errs: &lockedBuffer{}, exited: make(chan error, 1)}
	p.cmd.Stderr = p.errs
	out, in, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	p.cmd.Stdout = in
	p.out = bufio.NewReader(out)
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	in.Close()
	go func() { p.exited <- p.cmd.Wait() }()
	t.Cleanup(func() {
		p.cmd.Process.Kill()
		out.Close()
	})
	return p
}

// line is the next line of what the program prints.
func (p *process) line() string {
	p.t.Helper()
	read := make(chan string, 1)
	go func() {
		text, _ := p.out.ReadString('\n')
		read <- text
	}()
	select {
	case text := <-read:
		if text == "" {
			p.t.Fatalf("it printed nothing more; on standard error:\n%s", p.errs)
		}
		return text
	case <-time.After(patience):
		p.t.Fatalf("it printed nothing for %s; on standard error:\n%s", patience, p.errs)
	}
	return ""
}

// end sends a signal and waits until the program is gone.
func (p *process) end(sig syscall.Signal) error {
	p.t.Helper()
	if err := p.cmd.Process.Signal(sig); err != nil {
		p.t.Fatal(err)
	}
	select {
	case err := <-p.exited:
		return err
	case <-time.After(patience):
		p.t.Fatalf("it goes on %s after %s", patience, sig)
	}
	return nil
}

// once runs the program to its end and returns what it printed.
func once(t *testing.T, env []string, args ...string) (stdout, stderr string, err error) {
	t.Helper()
	cmd := commandLine(env, args...)
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	timer := time.AfterFunc(patience, func() { cmd.Process.Kill() })
	defer timer.Stop()
	err = cmd.Run()
	return out.String(), errs.String(), err
}

// lockedBuffer takes what a process writes while a test reads it.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// residentMiB is how much memory a process holds (proc(5)).
func residentMiB(t *testing.T, pid int) int {
	t.Helper()
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(status)) {
		if rest, found := strings.CutPrefix(line, "VmRSS:"); found {
			kB, err := strconv.Atoi(strings.Fields(rest)[0])
			if err != nil {
				t.Fatal(err)
			}
			return kB >> 10
		}
	}
	t.Fatalf("no resident size in %q", status)
	return 0
}

// processesOn lists the processes that work in a folder or name it.
func processesOn(t *testing.T, dir string) []string {
	t.Helper()
	var found []string
	all, err := filepath.Glob("/proc/[0-9]*")
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range all {
		words, err := os.ReadFile(filepath.Join(p, "cmdline"))
		if err != nil {
			continue // it has just ended
		}
		cwd, _ := os.Readlink(filepath.Join(p, "cwd"))
		if strings.HasPrefix(cwd, dir) || bytes.Contains(words, []byte(dir)) {
			found = append(found, filepath.Base(p)+" "+strings.ReplaceAll(string(words), "\x00", " "))
		}
	}
	return found
}

// freePort is a port that nobody uses, below those that the system gives out by itself,
// so that nobody is given it meanwhile.
func freePort(t *testing.T) int {
	t.Helper()
	for range 100 {
		port := 20000 + rand.IntN(12000)
		if l, err := net.Listen("tcp", fmt.Sprintf("127.0.0.1:%d", port)); err == nil {
			l.Close()
			return port
		}
	}
	t.Fatal("no port is free")
	return 0
}

// until waits for something, and says why it may not have come.
func until(t *testing.T, came func() bool, why func() string) {
	t.Helper()
	for end := time.Now().Add(patience); !came(); time.Sleep(50 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("waited for %s in vain\n%s", patience, why())
		}
	}
}
