package s3test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"syscall"
)

const (
	module  = "github.com/versity/versitygw"
	version = "v1.8.0"
)

var install sync.Mutex

// Install returns the path of the server's program. If it is not in the cache
// yet it is built there, which takes some minutes; other processes that want it
// meanwhile wait.
func Install(ctx context.Context) (string, error) {
	install.Lock()
	defer install.Unlock()
	cache, err := os.UserCacheDir()
	if err != nil {
		return "", fmt.Errorf("find a cache folder: %w", err)
	}
	folder := filepath.Join(cache, "relevel-test", "bin")
	program := filepath.Join(folder, "versitygw-"+version)
	if installed(program) {
		return program, nil
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return "", err
	}
	unlock, err := lock(program + ".lock")
	if err != nil {
		return "", err
	}
	defer unlock()
	if installed(program) { // by the one we waited for
		return program, nil
	}
	return program, build(ctx, folder, program)
}

func installed(program string) bool {
	info, err := os.Stat(program)
	return err == nil && info.Mode().IsRegular() && info.Mode().Perm()&0o100 != 0
}

// lock takes a lock that the system frees when this process ends, however.
func lock(name string) (unlock func(), err error) {
	f, err := os.OpenFile(name, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, err
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX); err != nil {
		f.Close()
		return nil, fmt.Errorf("lock %s: %w", name, err)
	}
	return func() { f.Close() }, nil
}

// build builds beside the final place and renames, so that nobody ever runs
// half a program.
func build(ctx context.Context, folder, program string) (err error) {
	temp, err := os.MkdirTemp(folder, "build-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(temp)) }()
	cmd := exec.CommandContext(ctx, "go", "install", module+"/cmd/versitygw@"+version)
	cmd.Dir = temp
	// What this module is built with (vendoring, a workspace, another system)
	// is no business of that one.
	cmd.Env = append(os.Environ(), "GOBIN="+temp, "GOFLAGS=", "GOWORK=off", "GOOS=", "GOARCH=", "CGO_ENABLED=0")
	if output, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("go install %s@%s: %w\n%s", module, version, err, output)
	}
	return os.Rename(filepath.Join(temp, "versitygw"), program)
}
