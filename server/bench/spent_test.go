//go:build bench

package bench

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// spent is what the program and its Postgres have used of the processors so far.
type spent struct{ program, postgres time.Duration }

func (s spent) minus(before spent) spent {
	return spent{s.program - before.program, s.postgres - before.postgres}
}

// spent reads what both have used, from proc(5): of Postgres its postmaster, which is
// counted the sessions that ended, and those that live.
func (s *served) spent() (all spent) {
	s.t.Helper()
	all.program = processorOf(s.t, s.process.Process.Pid, false)
	text, err := os.ReadFile(filepath.Join(s.dir, "postgres", "postmaster.pid"))
	must(s.t, err)
	line, _, _ := strings.Cut(string(text), "\n")
	postmaster, err := strconv.Atoi(line)
	must(s.t, err)
	all.postgres = processorOf(s.t, postmaster, true)
	for _, child := range childrenOf(s.t, postmaster) {
		all.postgres += processorOf(s.t, child, false)
	}
	return all
}

// written is how many bytes went into the journal, into the pages of tables and indexes,
// and into files beside Postgres, as photos do. What the kernel counts for a process is
// of no use here: it counts a large piece of its cache for a page that changes in it.
type written struct{ journal, pages, files int64 }

func (w written) minus(before written) written {
	return written{w.journal - before.journal, w.pages - before.pages, w.files - before.files}
}

// written has all pages that changed written first.
func (s *served) written() (all written) {
	s.t.Helper()
	conn := s.admin()
	defer conn.Close(context.Background())
	all.journal = ask[int64](s.t, conn, `SELECT (pg_current_wal_insert_lsn() - '0/0')::bigint`)
	s.execute(`CHECKPOINT`)
	all.pages = ask[int64](s.t, conn, `SELECT (buffers_checkpoint + buffers_clean + buffers_backend) * current_setting('block_size')::bigint FROM pg_stat_bgwriter`)
	all.files = s.folder() - folderSize(s.t, filepath.Join(s.dir, "postgres"))
	return all
}

// folder is how many bytes the data folder has.
func (s *served) folder() int64 { return folderSize(s.t, s.dir) }

func folderSize(t *testing.T, dir string) (bytes int64) {
	must(t, filepath.Walk(dir, func(_ string, f os.FileInfo, err error) error {
		if err == nil && !f.IsDir() {
			bytes += f.Size()
		}
		return nil // a file that has just gone takes no room
	}))
	return bytes
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
