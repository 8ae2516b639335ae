package localpg

import (
	"fmt"
	"os"
	"path/filepath"
	"syscall"
)

// childAttributes puts a child in a process group of its own, so that Ctrl-C
// in a terminal reaches only us, and has the kernel tell it to stop (SIGINT is
// a fast shutdown) when we die without having told it.
func childAttributes(c *syscall.Credential) *syscall.SysProcAttr {
	return &syscall.SysProcAttr{Setpgid: true, Pdeathsig: syscall.SIGINT, Credential: c}
}

// worksIn reports whether a process works in a folder, as a postmaster does in
// its data folder; a process id alone may have been given to another program.
func worksIn(pid int, dir string) bool {
	cwd, err := os.Readlink(fmt.Sprintf("/proc/%d/cwd", pid))
	if err != nil {
		return false
	}
	if real, err := filepath.EvalSymlinks(dir); err == nil {
		dir = real
	}
	return cwd == dir
}
