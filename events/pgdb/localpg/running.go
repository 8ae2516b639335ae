package localpg

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// ErrNotRunning says that no server of ours runs on a data folder.
var ErrNotRunning = errors.New("no server runs on this data folder")

// Running is a server that another process started and keeps.
type Running struct{ socket string }

// FindRunning returns the server that another process runs on a data folder, or
// ErrNotRunning. Only the account that started it, and the one that Postgres runs
// as, may connect.
func FindRunning(dir string) (Running, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return Running{}, fmt.Errorf("find the data folder: %w", err)
	}
	held, err := heldByAnother(dir + ".lock")
	if err != nil {
		return Running{}, err
	}
	if !held {
		return Running{}, fmt.Errorf("%s: %w", dir, ErrNotRunning)
	}
	pid, status := readPIDFile(dir)
	if pid <= 0 || status != "ready" {
		return Running{}, fmt.Errorf("the server on %s is starting or stopping: try again in a moment", dir)
	}
	socket, err := runningSocket(dir)
	return Running{socket}, err
}

// heldByAnother tells whether another process holds a lock that Start takes.
func heldByAnother(path string) (bool, error) {
	f, err := os.Open(path)
	if errors.Is(err, os.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("look at the data folder's lock: %w", err)
	}
	defer f.Close()
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_SH|syscall.LOCK_NB)
	return errors.Is(err, syscall.EWOULDBLOCK), nil
}

// runningSocket reads the socket's folder from the fifth line that a postmaster
// writes into its pid file.
func runningSocket(dir string) (string, error) {
	text, err := os.ReadFile(pidFile(dir))
	if err != nil {
		return "", fmt.Errorf("find the running server: %w", err)
	}
	lines := strings.Split(string(text), "\n")
	if len(lines) < 5 || !filepath.IsAbs(lines[4]) {
		return "", fmt.Errorf("find the running server: %s names no socket", pidFile(dir))
	}
	return lines[4], nil
}

// DSN is the connection string for a role and a database of this server.
func (r Running) DSN(role, database string) string { return socketDSN(r.socket, role, database) }
