//go:build unix && !linux

package localpg

import "syscall"

// childAttributes puts a child in a process group of its own. Only Linux can
// tell a child of its parent's death; elsewhere the next start stops what a
// killed server left over.
func childAttributes(c *syscall.Credential) *syscall.SysProcAttr {
	return &syscall.SysProcAttr{Setpgid: true, Credential: c}
}

// worksIn reports whether the process exists; where it works is not known.
func worksIn(pid int, _ string) bool { return syscall.Kill(pid, 0) == nil }
