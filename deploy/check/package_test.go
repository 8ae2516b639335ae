//go:build installed

package check

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
)

// TestPackage installs the Debian package on a machine of its own: systemd as process 1,
// in namespaces, over a copy of this machine's files. There the units are started,
// upgraded, moved to another database and removed, as deploy/INSTALL.md says.
func TestPackage(t *testing.T) {
	folder := t.TempDir()
	if err := os.Chmod(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	for i, version := range []string{"0.0.1+before", "0.0.1"} {
		buildPackage(t, version, filepath.Join(folder, fmt.Sprintf("%d.deb", i+1)))
	}
	script, err := os.ReadFile(filepath.Join("testdata", "package.sh"))
	if err != nil {
		t.Fatal(err)
	}
	boot := exec.Command("unshare", "--mount", "--pid", "--fork", "--kill-child", "--cgroup", "--uts", "--ipc", "--net", "--propagation", "private",
		"sh", filepath.Join("testdata", "boot.sh"), folder)
	boot.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	start(t, boot)
	var pid int
	until(t, "systemd runs", func() bool {
		pid = onlyChild(boot.Process.Pid)
		return pid != 0 && exec.Command("nsenter", inMachine(pid, "systemctl", "is-system-running")...).Run() == nil
	})
	cmd := exec.Command("nsenter", inMachine(pid, "sh", "-s")...)
	cmd.Env = []string{"PATH=/usr/sbin:/usr/bin:/sbin:/bin", "DEBIAN_FRONTEND=noninteractive"}
	cmd.Stdin = bytes.NewReader(script)
	out, err := cmd.CombinedOutput()
	if err != nil || !strings.HasSuffix(string(out), "all of it holds\n") {
		t.Errorf("%v\n%s", err, out)
	}
}

// inMachine is a command line within the machine whose systemd is that process here.
func inMachine(pid int, args ...string) []string {
	return append([]string{"--target", strconv.Itoa(pid), "--mount", "--uts", "--ipc", "--net", "--pid", "--cgroup", "--root", "--wd"}, args...)
}

// onlyChild is the process that another one started, 0 while there is none.
func onlyChild(pid int) int {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/task/%d/children", pid, pid))
	if err != nil {
		return 0
	}
	child, err := strconv.Atoi(strings.TrimSpace(string(text)))
	if err != nil {
		return 0
	}
	return child
}

// buildPackage makes a package of what was built here.
func buildPackage(t *testing.T, version, to string) {
	t.Helper()
	folder := t.TempDir()
	build := exec.Command(filepath.Join(top, "deploy", "debian", "build"), filepath.Join(top, "bin", "relevel"), version, folder)
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	paths, err := filepath.Glob(filepath.Join(folder, "relevel_*.deb"))
	if err != nil || len(paths) != 1 {
		t.Fatalf("it made %v, %v", paths, err)
	}
	if err := os.Rename(paths[0], to); err != nil {
		t.Fatal(err)
	}
}
