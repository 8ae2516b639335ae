//go:build bench

package bench

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// spent is what the program and its Postgres have used of the machine so far.
type spent struct {
	program, postgres           time.Duration // of processors
	programWrote, postgresWrote int64         // bytes to the disk
}

func (s spent) minus(before spent) spent {
	return spent{s.program - before.program, s.postgres - before.postgres, s.programWrote - before.programWrote, s.postgresWrote - before.postgresWrote}
}

// spent reads what both have used, from proc(5): of Postgres its postmaster, which is
// counted the sessions that ended, and those that live.
func (s *served) spent() (all spent) {
	s.t.Helper()
	pid := s.process.Process.Pid
	all.program, all.programWrote = processorOf(s.t, pid, false), writtenBy(s.t, pid)
	text, err := os.ReadFile(filepath.Join(s.dir, "postgres", "postmaster.pid"))
	must(s.t, err)
	line, _, _ := strings.Cut(string(text), "\n")
	postmaster, err := strconv.Atoi(line)
	must(s.t, err)
	all.postgres, all.postgresWrote = processorOf(s.t, postmaster, true), writtenBy(s.t, postmaster)
	for _, child := range childrenOf(s.t, postmaster) {
		all.postgres += processorOf(s.t, child, false)
		all.postgresWrote += writtenBy(s.t, child)
	}
	return all
}

// tick is the unit of times in proc(5).
const tick = 10 * time.Millisecond

// processorOf is how long a process has kept processors busy, and with ended how long
// those did that it started and that ended. A process that is gone counts as nothing: its
// parent has its time.
func processorOf(t *testing.T, pid int, ended bool) (all time.Duration) {
	fields := statOf(pid)
	if fields == nil {
		return 0
	}
	of := fields[11:13]
	if ended {
		of = fields[11:15]
	}
	for _, field := range of {
		ticks, err := strconv.Atoi(field)
		must(t, err)
		all += time.Duration(ticks) * tick
	}
	return all
}

// statOf is what stands behind a process's name in its line.
func statOf(pid int) []string {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return nil
	}
	return strings.Fields(string(text[strings.LastIndexByte(string(text), ')')+1:]))
}

func childrenOf(t *testing.T, parent int) (pids []int) {
	entries, err := os.ReadDir("/proc")
	must(t, err)
	for _, e := range entries {
		pid, err := strconv.Atoi(e.Name())
		if err != nil {
			continue
		}
		if fields := statOf(pid); fields != nil && fields[1] == strconv.Itoa(parent) {
			pids = append(pids, pid)
		}
	}
	return pids
}

// writtenBy is how many bytes a process, and those of its children that ended, had
// written to a disk.
func writtenBy(t *testing.T, pid int) int64 {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/io", pid))
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(text)) {
		if value, ok := strings.CutPrefix(line, "write_bytes: "); ok {
			n, err := strconv.ParseInt(strings.TrimSpace(value), 10, 64)
			must(t, err)
			return n
		}
	}
	return 0
}
