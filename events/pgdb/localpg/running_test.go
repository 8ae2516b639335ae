package localpg_test

import (
	"context"
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb/localpg"
)

// A server that another process runs is found, and one that has ended is not.
func TestFindRunning(t *testing.T) {
	dir := folder(t)
	if _, err := localpg.FindRunning(dir); !errors.Is(err, localpg.ErrNotRunning) {
		t.Errorf("on nothing: %v", err)
	}
	s := start(t, localpg.Config{Dir: dir, Scratch: true})
	r, err := localpg.FindRunning(dir)
	if err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(t.Context(), r.DSN(localpg.Superuser, "postgres"))
	if err != nil {
		t.Fatal(err)
	}
	conn.Close(context.Background())
	if err := s.Stop(); err != nil {
		t.Fatal(err)
	}
	if _, err := localpg.FindRunning(dir); !errors.Is(err, localpg.ErrNotRunning) {
		t.Errorf("after the end: %v", err)
	}
}

// The programs that come with a server are found, those of a version that nobody has
// are not, and what they say is in the error.
func TestFindProgram(t *testing.T) {
	p, err := localpg.FindProgram("pg_dump", 14)
	if err != nil || p.Major < 14 || !filepath.IsAbs(p.Path) {
		t.Fatalf("%+v, %v", p, err)
	}
	if err := p.Run(t.Context(), nil, "--version"); err != nil {
		t.Error(err)
	}
	if err := p.Run(t.Context(), nil, "--no-such-flag"); err == nil || !strings.Contains(err.Error(), "no-such-flag") {
		t.Errorf("%v", err)
	}
	if _, err := localpg.FindProgram("pg_dump", 900); err == nil || !strings.Contains(err.Error(), "install postgresql-client-900") {
		t.Errorf("%v", err)
	}
	if _, err := localpg.FindProgram("pg_nothing", 14); err == nil || !strings.Contains(err.Error(), "install postgresql-client-14") {
		t.Errorf("%v", err)
	}
	cut, cancel := context.WithCancel(t.Context())
	cancel()
	sleep := localpg.Program{Path: "/bin/sleep"}
	if err := sleep.Run(cut, []string{"A=b"}, "60"); err == nil {
		t.Error("it ran on after its context had ended")
	}
}
