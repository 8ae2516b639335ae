//go:build installed

package check

import (
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"syscall"
	"testing"
)

// imageVersion is the version of the program in an image, by its tag.
func imageVersion(t *testing.T, image string) string {
	t.Helper()
	found := regexp.MustCompile(`:v?(\d+\.\d+\.\d+)`).FindStringSubmatch(image)
	if found == nil {
		t.Fatalf("%s has no version", image)
	}
	return "v" + found[1]
}

// install builds a Go program once into the user's cache folder, which takes some
// minutes, and returns its path. Others that want it meanwhile wait.
func install(t *testing.T, pkg, version string) string {
	t.Helper()
	cache, err := os.UserCacheDir()
	if err != nil {
		t.Fatal(err)
	}
	folder := filepath.Join(cache, "relevel-test", "bin")
	program := filepath.Join(folder, path.Base(pkg)+"-"+version)
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	lock, err := os.OpenFile(program+".lock", os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	defer lock.Close() // and the lock goes with it
	if err := syscall.Flock(int(lock.Fd()), syscall.LOCK_EX); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(program); err == nil {
		return program
	}
	built := t.TempDir()
	cmd := exec.Command("go", "install", pkg+"@"+version)
	cmd.Dir = built
	cmd.Env = append(os.Environ(), "GOBIN="+built, "GOFLAGS=", "GOWORK=off", "CGO_ENABLED=0")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("go install %s@%s: %v\n%s", pkg, version, err, out)
	}
	// Beside its place and then renamed, so that nobody runs half a program.
	if out, err := exec.Command("sh", "-euc", `cp "$1" "$2.new" && mv "$2.new" "$2"`, "sh", filepath.Join(built, path.Base(pkg)), program).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	return program
}
