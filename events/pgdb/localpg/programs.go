package localpg

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
)

// Program is one of the programs that come with Postgres, such as pg_dump.
type Program struct {
	Path  string
	Major int // its version
}

// FindProgram returns the newest installed program of a name whose version is at
// least a major one. It looks beside the servers in Debian's places, and on PATH.
// The error says what to install.
func FindProgram(name string, atLeast int) (Program, error) {
	newest := 0
	for _, path := range programsNamed(name) {
		major, err := majorOf(path)
		if err != nil {
			continue // a wrapper for a version that is not there
		}
		if major >= atLeast {
			return Program{path, major}, nil
		}
		newest = max(newest, major)
	}
	if newest > 0 {
		return Program{}, fmt.Errorf("the newest %s here is of PostgreSQL %d and the server's data is of %d: install postgresql-client-%d", name, newest, atLeast, atLeast)
	}
	return Program{}, fmt.Errorf("no %s is installed (looked on PATH and in /usr/lib/postgresql/*/bin): install postgresql-client-%d or newer", name, atLeast)
}

func programsNamed(name string) []string {
	var paths []string
	for _, dir := range newestFirst("/usr/lib/postgresql/*/bin") {
		path := filepath.Join(dir, name)
		if info, err := os.Stat(path); err == nil && info.Mode()&0o111 != 0 {
			paths = append(paths, path)
		}
	}
	if path, err := exec.LookPath(name); err == nil {
		paths = append(paths, path)
	}
	return paths
}

// majorOf asks a program for its version, for example "pg_dump (PostgreSQL) 15.18".
func majorOf(path string) (int, error) {
	out, err := exec.Command(path, "--version").Output()
	if err != nil {
		return 0, err
	}
	_, version, _ := strings.Cut(string(out), "(PostgreSQL) ")
	digits := strings.FieldsFunc(version, func(r rune) bool { return r < '0' || r > '9' })
	if len(digits) == 0 {
		return 0, fmt.Errorf("%s says %q of its version", path, out)
	}
	return strconv.Atoi(digits[0])
}

// Run runs the program to its end with some variables and hardly any others: a
// PGPORT of the caller's would change what it does. When ctx ends it is interrupted.
// It never outlives this process. What it said is in the error.
func (p Program) Run(ctx context.Context, env []string, args ...string) error {
	// The child is told to stop when the thread that forked it ends.
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	cmd := exec.CommandContext(ctx, p.Path, args...)
	cmd.Env = append([]string{"PATH=" + filepath.Dir(p.Path) + ":/usr/bin:/bin", "LC_ALL=C.UTF-8", "TZ=UTC", "HOME=" + os.Getenv("HOME")}, env...)
	cmd.SysProcAttr = childAttributes(nil)
	cmd.Cancel = func() error { return cmd.Process.Signal(os.Interrupt) }
	cmd.WaitDelay = stopPatience
	words := &tail{}
	cmd.Stdout, cmd.Stderr = words, words
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("%s: %w: %s", filepath.Base(p.Path), err, words)
	}
	return nil
}
