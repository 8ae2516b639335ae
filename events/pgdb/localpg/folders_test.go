package localpg_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"relevel/events/pgdb/localpg"
)

func makeFolder(t *testing.T, dir string, mode os.FileMode) string {
	t.Helper()
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(dir, mode); err != nil {
		t.Fatal(err)
	}
	return dir
}

// What it cannot work in is left as it is, and the error says what to do.
func TestFoldersRefused(t *testing.T) {
	refused := func(t *testing.T, dir string, words ...string) {
		t.Helper()
		_, err := localpg.Start(t.Context(), localpg.Config{Dir: dir})
		if err == nil {
			t.Fatal("it started")
		}
		for _, want := range words {
			if !strings.Contains(err.Error(), want) {
				t.Errorf("%v, want it to say %q", err, want)
			}
		}
	}
	t.Run("ClosedParent", func(t *testing.T) {
		if os.Geteuid() != 0 {
			t.Log("not root: Postgres runs as this account, which is let in")
			return
		}
		closed := makeFolder(t, filepath.Dir(folder(t)), 0o700)
		refused(t, filepath.Join(closed, "postgres"), "cannot enter "+closed, "chmod o+x "+closed)
	})
	t.Run("LongNameAndNoShortOne", func(t *testing.T) {
		dir := filepath.Join(filepath.Dir(folder(t)), strings.Repeat("a", 120), "postgres")
		t.Setenv("TMPDIR", makeFolder(t, filepath.Join(filepath.Dir(folder(t)), strings.Repeat("b", 120)), 0o777))
		refused(t, dir, "Unix allows 107", "shorter path")
	})
	t.Run("SomethingElse", func(t *testing.T) {
		dir := folder(t)
		letters := makeFolder(t, filepath.Join(dir, "letters"), 0o755)
		refused(t, dir, "holds something else", "choose another data folder")
		if _, err := os.Stat(letters); err != nil {
			t.Error(err)
		}
	})
	t.Run("OtherVersion", func(t *testing.T) {
		dir := makeFolder(t, folder(t), 0o755)
		if err := os.WriteFile(filepath.Join(dir, "PG_VERSION"), []byte("9\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		refused(t, dir, "is of PostgreSQL 9 and the installed one is", "pg_upgrade")
	})
	t.Run("SocketFolderOfAnother", func(t *testing.T) {
		dir := folder(t)
		if err := os.Symlink("/", dir+".sock"); err != nil {
			t.Fatal(err)
		}
		refused(t, dir, dir+".sock is not a folder of", "remove it")
	})
}

// A path too long for a socket, and what a start that was killed left over.
func TestLongName(t *testing.T) {
	short := makeFolder(t, filepath.Dir(folder(t)), 0o777)
	t.Setenv("TMPDIR", short)
	dir := filepath.Join(short, strings.Repeat("a", 120), "postgres")
	makeFolder(t, filepath.Join(dir+".new", "base"), 0o700)
	s := start(t, localpg.Config{Dir: dir, Scratch: true})
	if got := query(t, s, "SELECT 'reached'::text"); got != "reached" {
		t.Errorf("%q", got)
	}
	if _, err := os.Stat(dir + ".new"); !os.IsNotExist(err) {
		t.Errorf("the unfinished folder is still there: %v", err)
	}
	if err := s.Stop(); err != nil {
		t.Fatal(err)
	}
	if left, err := filepath.Glob(filepath.Join(short, "relevel-*")); len(left) > 0 || err != nil {
		t.Errorf("left behind: %q, %v", left, err)
	}
}
