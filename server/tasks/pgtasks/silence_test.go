package pgtasks_test

import (
	"fmt"
	"net"
	"path/filepath"
	"sync/atomic"
	"testing"

	"github.com/jackc/pgx/v5"
)

// silence is a way to a database on which nothing is heard any more while it is silent,
// and no connection ends.
type silence struct {
	dsn    string
	silent atomic.Bool
}

func newSilence(t *testing.T, dsn string) *silence {
	t.Helper()
	to, err := pgx.ParseConfig(dsn)
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	s := &silence{dsn: fmt.Sprintf("postgres://%s@%s/%s?sslmode=disable", to.User, l.Addr(), to.Database)}
	socket := filepath.Join(to.Host, fmt.Sprintf(".s.PGSQL.%d", to.Port))
	go func() {
		for {
			client, err := l.Accept()
			if err != nil {
				return
			}
			server, err := net.Dial("unix", socket)
			if err != nil {
				client.Close()
				return
			}
			go s.pass(server, client)
			go s.pass(client, server)
		}
	}()
	return s
}

// pass hands on what comes, and swallows it while it is silent.
func (s *silence) pass(to, from net.Conn) {
	defer to.Close()
	defer from.Close()
	piece := make([]byte, 16<<10)
	for {
		n, err := from.Read(piece)
		if err != nil {
			return
		}
		if s.silent.Load() {
			continue
		}
		if _, err := to.Write(piece[:n]); err != nil {
			return
		}
	}
}
