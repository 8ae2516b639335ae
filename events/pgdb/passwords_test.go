package pgdb_test

import (
	"bytes"
	"errors"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
)

// A role comes in by the password it was given last, by no other and by none; and the
// server, which logs every statement here, was told none of them.
func TestSetPasswords(t *testing.T) {
	t.Parallel()
	var said lockedWords
	s, dir := serverWithWords(t, &said)
	admin := s.DSN(localpg.Superuser, "postgres")
	if err := pgdb.EnsureRoles(t.Context(), admin); err != nil {
		t.Fatal(err)
	}
	requirePasswords(t, s, dir)
	enter := func(role, password string) error {
		u, err := url.Parse(s.DSN(role, "postgres"))
		if err != nil {
			t.Fatal(err)
		}
		u.User = url.UserPassword(role, password)
		conn, err := pgx.Connect(t.Context(), u.String())
		if err == nil {
			conn.Close(t.Context())
		}
		return err
	}
	first, second := `it's 100% "first" $1`, "the-second"
	for _, password := range []string{first, second} {
		var wg sync.WaitGroup
		for range 4 {
			wg.Go(func() {
				if err := pgdb.SetPasswords(t.Context(), admin, map[string]string{pgdb.App: password, pgdb.Worker: password + "w"}); err != nil {
					t.Error(err)
				}
			})
		}
		wg.Wait()
		if err := errors.Join(enter(pgdb.App, password), enter(pgdb.Worker, password+"w")); err != nil {
			t.Errorf("with %q: %v", password, err)
		}
	}
	for _, password := range []string{first, second + "w", ""} {
		if enter(pgdb.App, password) == nil {
			t.Errorf("it came in with %q", password)
		}
	}
	if enter(pgdb.Eraser, second) == nil {
		t.Error("a role without a password came in")
	}
	words := said.bytes()
	if !bytes.Contains(words, []byte("ALTER ROLE")) {
		t.Fatalf("the log has no statement, so it shows nothing: %s", words)
	}
	if bytes.Contains(words, []byte(second)) || bytes.Contains(words, []byte("first")) {
		t.Errorf("a password stands in the log of Postgres:\n%s", words)
	}
}

// What no password can be is said before the database is asked.
func TestSetPasswordsRefuses(t *testing.T) {
	t.Parallel()
	for _, password := range []string{"", "two\nlines", "pässword", "nul\x00"} {
		err := pgdb.SetPasswords(t.Context(), "postgres://nobody@127.0.0.1:1/none", map[string]string{pgdb.App: password})
		if !errors.Is(err, pgdb.ErrPassword) {
			t.Errorf("%q: %v, want ErrPassword", password, err)
		}
	}
	if err := pgdb.SetPasswords(t.Context(), "postgres://nobody@127.0.0.1:1/none", nil); err != nil {
		t.Errorf("with none to set: %v", err)
	}
}

// serverWithWords is a server whose log is kept, and its data folder.
func serverWithWords(t *testing.T, log *lockedWords) (*localpg.Server, string) {
	t.Helper()
	folder, err := os.MkdirTemp("", "pgdb-test-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(folder) })
	if err := os.Chmod(folder, 0o755); err != nil { // for the account Postgres runs as
		t.Fatal(err)
	}
	dir := filepath.Join(folder, "postgres")
	s, err := localpg.Start(t.Context(), localpg.Config{Dir: dir, Roles: pgdb.Roles(), Scratch: true, Log: log})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Stop(); err != nil {
			t.Error(err)
		}
	})
	return s, dir
}

// requirePasswords makes a server ask every role but the superuser for its password,
// and log every statement.
func requirePasswords(t *testing.T, s *localpg.Server, dir string) {
	t.Helper()
	rules := "local all " + localpg.Superuser + " peer map=relevel\nlocal all all scram-sha-256\n"
	if err := os.WriteFile(filepath.Join(dir, "pg_hba.conf"), []byte(rules), 0o644); err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(t.Context(), s.DSN(localpg.Superuser, "postgres"))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	for _, statement := range []string{"ALTER SYSTEM SET log_statement = 'all'", "SELECT pg_reload_conf()"} {
		if _, err := conn.Exec(t.Context(), statement); err != nil {
			t.Fatal(err)
		}
	}
}

// lockedWords takes what a server writes while a test reads it.
type lockedWords struct {
	mu   sync.Mutex
	text []byte
}

func (l *lockedWords) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.text = append(l.text, p...)
	return len(p), nil
}

func (l *lockedWords) bytes() []byte {
	l.mu.Lock()
	defer l.mu.Unlock()
	return slices.Clone(l.text)
}
