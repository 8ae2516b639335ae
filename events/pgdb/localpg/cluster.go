package localpg

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/user"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
)

// smallServer is added once to the postgresql.conf of a new data folder, where
// whoever runs the machine may change it. A firm's jobs are megabytes, and the
// server shares the machine with ours.
const smallServer = `
# Set by relevel when this folder was made. Change what you like.
shared_buffers = 32MB
max_connections = 100
max_wal_size = 256MB
# Half of what goes into the journal is whole pages, the first time each one changes
# after a checkpoint.
wal_compression = on
max_parallel_workers_per_gather = 0
max_parallel_workers = 0
max_logical_replication_workers = 0
autovacuum_max_workers = 1
jit = off
timezone = 'UTC'
log_timezone = 'UTC'
# Statements carry what people recorded, so they stay out of the log.
log_min_error_statement = panic
`

// ensureCluster makes the data folder if there is none. A folder comes into
// being under another name and gets its own at the end, so that a crash on the
// way leaves nothing that looks like data.
func (s *Server) ensureCluster(ctx context.Context) error {
	dir := s.config.Dir
	if _, err := os.Stat(filepath.Join(dir, "PG_VERSION")); err == nil {
		return s.adoptCluster()
	}
	if entries, err := os.ReadDir(dir); err == nil && len(entries) > 0 {
		return fmt.Errorf("%s holds something else than a Postgres data folder: choose another data folder", dir)
	}
	fresh := dir + ".new"
	if err := os.RemoveAll(fresh); err != nil {
		return fmt.Errorf("clear an unfinished data folder: %w", err)
	}
	if err := s.initialise(ctx, fresh); err != nil {
		return err
	}
	if err := os.Remove(dir); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("replace the empty data folder: %w", err)
	}
	if err := os.Rename(fresh, dir); err != nil {
		return fmt.Errorf("name the new data folder: %w", err)
	}
	return syncFolder(filepath.Dir(dir))
}

func (s *Server) initialise(ctx context.Context, fresh string) error {
	if err := os.Mkdir(fresh, 0o700); err != nil {
		return fmt.Errorf("make the data folder: %w", err)
	}
	if err := s.account.own(fresh); err != nil {
		return fmt.Errorf("hand over the data folder: %w", err)
	}
	args := []string{"-D", fresh, "-U", Superuser, "-E", "UTF8", "--locale=C.UTF-8", "--auth=peer"}
	if s.config.Scratch {
		args = append(args, "--no-sync")
	}
	// The child is told to stop when the thread that forked it ends.
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	cmd := s.command(ctx, "initdb", args...)
	cmd.Dir = fresh
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("initdb: %w: %s", err, bytes.TrimSpace(out))
	}
	return appendFile(filepath.Join(fresh, "postgresql.conf"), smallServer)
}

// adoptCluster takes over a folder that is there, for example one that root
// restored from a copy and that therefore belongs to root.
func (s *Server) adoptCluster() error {
	dir := s.config.Dir
	if err := s.checkVersion(); err != nil {
		return err
	}
	if owner, _ := ownerOf(dir); owner == s.account.uid {
		return nil
	}
	if err := s.account.own(dir); err != nil {
		return fmt.Errorf("hand over the data folder: %w", err)
	}
	return nil
}

// checkVersion refuses data of another major version before Postgres does, in
// words that say what to do.
func (s *Server) checkVersion() error {
	data, err := os.ReadFile(filepath.Join(s.config.Dir, "PG_VERSION"))
	if err != nil {
		return fmt.Errorf("read the version of the data folder: %w", err)
	}
	installed, err := versionOf(s.binaries)
	if err != nil {
		return err
	}
	fields := strings.Fields(installed) // postgres (PostgreSQL) 15.18 (Debian …)
	major := strings.TrimSpace(string(data))
	if len(fields) < 3 || !strings.HasPrefix(fields[2]+".", major+".") {
		return fmt.Errorf("the data in %s is of PostgreSQL %s and the installed one is %s: install version %s, or move the data over with pg_upgrade", s.config.Dir, major, installed, major)
	}
	return nil
}

// writeAccess writes who may connect: over the socket only, and only the two
// accounts concerned, each as one of our roles. It is written at every start,
// since the accounts may have changed.
func (s *Server) writeAccess() error {
	var idents strings.Builder
	for _, name := range s.callers() {
		for _, role := range append([]string{Superuser}, s.config.Roles...) {
			fmt.Fprintf(&idents, "relevel %q %q\n", name, role)
		}
	}
	// The folder belongs to another account, which must not be able to lead
	// this process, perhaps root, elsewhere by a link.
	root, err := os.OpenRoot(s.config.Dir)
	if err != nil {
		return fmt.Errorf("open the data folder: %w", err)
	}
	defer root.Close()
	if err := root.Chmod(".", 0o700); err != nil {
		return fmt.Errorf("close the data folder to others: %w", err)
	}
	files := map[string]string{
		"pg_hba.conf":   "# Written by relevel at every start.\nlocal all all peer map=relevel\nlocal replication all peer map=relevel\n",
		"pg_ident.conf": "# Written by relevel at every start.\n" + idents.String(),
	}
	for name, text := range files {
		if err := s.replace(root, name, text); err != nil {
			return fmt.Errorf("write %s: %w", name, err)
		}
	}
	return nil
}

func (s *Server) replace(root *os.Root, name, text string) error {
	if err := root.Remove(name); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	if err := root.WriteFile(name, []byte(text), 0o600); err != nil {
		return err
	}
	if !s.account.switched {
		return nil
	}
	return root.Lchown(name, s.account.uid, s.account.gid)
}

// callers are the accounts that may connect.
func (s *Server) callers() []string {
	names := []string{s.account.name}
	if u, err := user.Current(); err == nil {
		names = append(names, u.Username)
	}
	slices.Sort(names)
	return slices.Compact(names)
}

func appendFile(path, text string) error {
	f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		return fmt.Errorf("extend %s: %w", filepath.Base(path), err)
	}
	defer f.Close()
	if _, err := f.WriteString(text); err != nil {
		return fmt.Errorf("extend %s: %w", filepath.Base(path), err)
	}
	return f.Sync()
}

func syncFolder(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("sync %s: %w", path, err)
	}
	defer f.Close()
	return f.Sync()
}
