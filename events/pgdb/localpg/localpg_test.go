package localpg_test

import (
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb/localpg"
)

// folder is a data folder that any account can reach; that of t.TempDir lies
// in a folder closed to others.
func folder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "localpg-test-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(dir, "postgres")
}

func start(t *testing.T, c localpg.Config) *localpg.Server {
	t.Helper()
	began := time.Now()
	s, err := localpg.Start(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Stop() })
	t.Logf("started in %v", time.Since(began).Round(time.Millisecond))
	return s
}

func query(t *testing.T, s *localpg.Server, sql string) string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), s.DSN(localpg.Superuser, "postgres"))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	rows, err := conn.Query(t.Context(), sql)
	if err != nil {
		t.Fatal(err)
	}
	words, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(words, " ")
}

func TestStart(t *testing.T) {
	dir := folder(t)
	s := start(t, localpg.Config{Dir: dir})
	query(t, s, "CREATE TABLE kept AS SELECT 'as it was'::text AS word")
	t.Run("DurableWithoutTCP", func(t *testing.T) {
		for setting, want := range map[string]string{"fsync": "on", "synchronous_commit": "on", "full_page_writes": "on", "listen_addresses": "", "server_encoding": "UTF8", "shared_buffers": "32MB"} {
			if got := query(t, s, "SELECT current_setting('"+setting+"')"); got != want {
				t.Errorf("%s = %q, want %q", setting, got, want)
			}
		}
	})
	t.Run("InUse", func(t *testing.T) {
		if _, err := localpg.Start(t.Context(), localpg.Config{Dir: dir}); err == nil || !strings.Contains(err.Error(), "in use") {
			t.Errorf("a second start on the same folder: %v", err)
		}
	})
	t.Run("Restart", func(t *testing.T) {
		if err := s.Stop(); err != nil {
			t.Fatal(err)
		}
		if err := s.Err(); err != nil {
			t.Errorf("after a clean stop: %v", err)
		}
		s := start(t, localpg.Config{Dir: dir})
		if got := query(t, s, "SELECT word FROM kept"); got != "as it was" {
			t.Errorf("kept %q", got)
		}
		if err := s.Stop(); err != nil {
			t.Fatal(err)
		}
	})
	t.Run("RestoredByRoot", func(t *testing.T) {
		if os.Geteuid() == 0 {
			giveToRoot(t, dir)
		}
		s := start(t, localpg.Config{Dir: dir})
		if got := query(t, s, "SELECT word FROM kept"); got != "as it was" {
			t.Errorf("kept %q", got)
		}
	})
}

// giveToRoot leaves a folder as root would have copied it back.
func giveToRoot(t *testing.T, dir string) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		return os.Lchown(path, 0, 0)
	})
	if err != nil {
		t.Fatal(err)
	}
}
