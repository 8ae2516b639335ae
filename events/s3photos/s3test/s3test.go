// Package s3test gives tests a real S3 server: a process of its own on a free
// port, over a temporary folder, gone when the test ends. The program is built
// once, at a pinned version, into the user's cache folder. There is also a
// proxy that breaks the way to the server.
package s3test

import (
	"bytes"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"
	"time"

	"relevel/events/s3photos"
)

const (
	accessKey = "relevel-test"
	secretKey = "relevel-test-secret"
	startTime = 10 * time.Second
	tries     = 3 // another process may take the free port before the server does
)

// Start runs a server for one test and says how to reach it. The bucket is not
// made yet.
func Start(t testing.TB) s3photos.Config {
	t.Helper()
	program, err := Install(t.Context())
	if err != nil {
		t.Fatalf("install the S3 server: %v", err)
	}
	folder := t.TempDir()
	for range tries {
		var addr string
		if addr, err = start(t, program, folder); err == nil {
			return s3photos.Config{
				Endpoint: addr, Bucket: "photos", Region: "us-east-1",
				Key: accessKey, Secret: secretKey, Insecure: true,
			}
		}
	}
	t.Fatalf("start the S3 server: %v", err)
	return s3photos.Config{}
}

func start(t testing.TB, program, folder string) (string, error) {
	addr, err := freeAddr()
	if err != nil {
		return "", err
	}
	var output bytes.Buffer
	cmd, err := command(program, folder, addr)
	if err != nil {
		return "", err
	}
	cmd.Stdout, cmd.Stderr = &output, &output
	exited := run(cmd)
	if err := waitReady(addr, exited); err != nil {
		stop(cmd, exited)
		return "", fmt.Errorf("%w\n%s", err, output.Bytes())
	}
	t.Cleanup(func() { stop(cmd, exited) })
	return addr, nil
}

// command keeps the server's notes about objects in a folder beside them, so
// that it also runs where the file system has no extended attributes.
func command(program, folder, addr string) (*exec.Cmd, error) {
	objects, notes := filepath.Join(folder, "objects"), filepath.Join(folder, "notes")
	for _, dir := range []string{objects, notes} {
		if err := os.MkdirAll(dir, 0o700); err != nil {
			return nil, err
		}
	}
	cmd := exec.Command(program, "--port", addr, "--region", "us-east-1", "--quiet",
		"posix", "--sidecar", notes, objects)
	cmd.Env = append(os.Environ(), "ROOT_ACCESS_KEY="+accessKey, "ROOT_SECRET_KEY="+secretKey)
	cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	return cmd, nil
}

// run starts the command from a thread that lives as long as the server does,
// because the server is killed when the thread that started it ends: so no
// server outlives a test that is killed.
func run(cmd *exec.Cmd) <-chan error {
	exited := make(chan error, 1)
	started := make(chan struct{})
	go func() {
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		err := cmd.Start()
		close(started)
		if err == nil {
			err = cmd.Wait()
		}
		exited <- fmt.Errorf("server ended: %w", err)
		close(exited)
	}()
	<-started
	return exited
}

func stop(cmd *exec.Cmd, exited <-chan error) {
	if cmd.Process != nil {
		cmd.Process.Kill()
	}
	for range exited { // until it is closed
	}
}

// waitReady asks until the server answers anything at all in HTTP.
func waitReady(addr string, exited <-chan error) error {
	deadline := time.After(startTime)
	for {
		resp, err := http.Get("http://" + addr + "/")
		if err == nil {
			return resp.Body.Close()
		}
		select {
		case err := <-exited:
			return err
		case <-deadline:
			return fmt.Errorf("no answer within %s: %w", startTime, err)
		case <-time.After(20 * time.Millisecond):
		}
	}
}

func freeAddr() (string, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	defer l.Close()
	return l.Addr().String(), nil
}
