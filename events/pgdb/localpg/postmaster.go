package localpg

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// postmaster is one run of the server's first process.
type postmaster struct {
	pid    int
	proc   *os.Process
	exited chan struct{}
	words  *tail // the end of what it said
}

// command prepares a program of the installation to run as the account, in a
// clean environment: variables such as PGPORT would change what it does.
func (s *Server) command(ctx context.Context, name string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, filepath.Join(s.binaries, name), args...)
	cmd.Env = []string{"PATH=" + s.binaries + ":/usr/bin:/bin", "LC_ALL=C.UTF-8", "TZ=UTC"}
	cmd.SysProcAttr = childAttributes(s.account.credential())
	// Backends that outlive a killed postmaster for a moment hold its pipes.
	cmd.WaitDelay = time.Second
	return cmd
}

func (s *Server) arguments() []string {
	settings := []string{
		"listen_addresses=",
		"port=" + port,
		"unix_socket_directories=" + `"` + strings.ReplaceAll(s.socket, `"`, `""`) + `"`,
		"unix_socket_permissions=0700",
	}
	if s.config.Scratch {
		settings = append(settings, "fsync=off", "synchronous_commit=off", "full_page_writes=off")
	}
	args := []string{"-D", s.config.Dir}
	for _, setting := range settings {
		args = append(args, "-c", setting)
	}
	return args
}

const (
	// startPatience bounds one launch, crash recovery included.
	startPatience = 2 * time.Minute
	// leftoverPatience is how long the remains of a killed postmaster may hold
	// its shared memory; its children look for their parent at least every few
	// seconds.
	leftoverPatience = 15 * time.Second
)

// launch starts a postmaster and waits until it accepts connections. After a
// crash the first tries may fail, as long as old backends are still going.
func (s *Server) launch(ctx context.Context) (*postmaster, error) {
	ctx, cancel := context.WithTimeout(ctx, cmp.Or(s.config.Patience, startPatience))
	defer cancel()
	_, err := os.Stat(pidFile(s.config.Dir))
	crashed := err == nil
	for began := time.Now(); ; {
		p, err := s.launchOnce(ctx)
		if err == nil || !crashed || time.Since(began) > leftoverPatience {
			return p, err
		}
		select {
		case <-ctx.Done():
			return nil, err
		case <-time.After(50 * time.Millisecond):
		}
	}
}

func (s *Server) launchOnce(ctx context.Context) (*postmaster, error) {
	p := &postmaster{exited: make(chan struct{}), words: &tail{}}
	cmd := s.command(context.Background(), "postgres", s.arguments()...)
	cmd.Dir = s.config.Dir
	out := io.MultiWriter(p.words, s.config.Log)
	cmd.Stdout, cmd.Stderr = out, out
	started := make(chan error)
	go p.run(cmd, started)
	if err := <-started; err != nil {
		return nil, fmt.Errorf("start postgres: %w", err)
	}
	if err := p.awaitReady(ctx, s.config.Dir); err != nil {
		return nil, errors.Join(err, p.end(stopPatience))
	}
	return p, nil
}

// run starts the process and waits for its end on one operating system thread:
// the signal that a dying parent sends is tied to the thread that forked.
func (p *postmaster) run(cmd *exec.Cmd, started chan<- error) {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	if err := cmd.Start(); err != nil {
		started <- err
		return
	}
	p.pid, p.proc = cmd.Process.Pid, cmd.Process
	started <- nil
	_ = cmd.Wait() // how it ended shows in its words
	close(p.exited)
}

// awaitReady watches the status line that the postmaster keeps in its pid
// file, as pg_ctl does. One that follows another server stays a standby; one that is
// being restored is a standby on the way, which lets nobody in yet.
func (p *postmaster) awaitReady(ctx context.Context, dir string) error {
	tick := time.NewTicker(5 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case <-p.exited:
			return fmt.Errorf("postgres ended while starting: %s", p.words)
		case <-ctx.Done():
			return fmt.Errorf("wait for postgres to start: %w: %s", ctx.Err(), p.words)
		case <-tick.C:
			if pid, status := readPIDFile(dir); pid == p.pid && (status == "ready" || status == "standby" && follows(dir)) {
				return nil
			}
		}
	}
}

// follows tells whether a data folder is that of a server which follows another.
func follows(dir string) bool {
	_, err := os.Stat(filepath.Join(dir, "standby.signal"))
	return err == nil
}

// end asks for a fast shutdown and, should that hang, for an immediate one,
// from which the next start recovers.
func (p *postmaster) end(patience time.Duration) error {
	for _, sig := range []syscall.Signal{syscall.SIGINT, syscall.SIGQUIT} {
		if err := p.proc.Signal(sig); err != nil && !errors.Is(err, os.ErrProcessDone) {
			return fmt.Errorf("stop postgres: %w", err)
		}
		select {
		case <-p.exited:
			return nil
		case <-time.After(patience):
		}
	}
	return fmt.Errorf("postgres, process %d, does not stop", p.pid)
}

func pidFile(dir string) string { return filepath.Join(dir, "postmaster.pid") }

// readPIDFile returns the process id (first line) and the status (eighth line,
// from version 10 on) of a postmaster; zero without one.
func readPIDFile(dir string) (pid int, status string) {
	text, err := os.ReadFile(pidFile(dir))
	if err != nil {
		return 0, ""
	}
	lines := strings.Split(string(text), "\n")
	pid, err = strconv.Atoi(strings.TrimSpace(lines[0]))
	if err != nil {
		return 0, ""
	}
	if len(lines) > 7 {
		status = strings.TrimSpace(lines[7])
	}
	return pid, status
}

// orphanGrace is how long a postmaster whose parent was killed gets to notice.
const orphanGrace = 3 * time.Second

// endOrphan waits for the postmaster of a killed predecessor, which is told to
// stop by the kernel, and tells it again if it does not go. We hold the
// folder's lock, so no living server of ours owns it.
func endOrphan(ctx context.Context, dir string) error {
	began, told := time.Now(), false
	for {
		pid, _ := readPIDFile(dir)
		if pid <= 0 || !worksIn(pid, dir) {
			return nil
		}
		if !told && time.Since(began) > orphanGrace {
			told = true
			if err := syscall.Kill(pid, syscall.SIGINT); err != nil && !errors.Is(err, syscall.ESRCH) {
				return fmt.Errorf("stop the server left over on %s, process %d: %w", dir, pid, err)
			}
		}
		if time.Since(began) > orphanGrace+stopPatience {
			return fmt.Errorf("another postgres, process %d, holds %s and does not stop: stop it by hand", pid, dir)
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("wait for the server left over on %s: %w", dir, ctx.Err())
		case <-time.After(20 * time.Millisecond):
		}
	}
}
