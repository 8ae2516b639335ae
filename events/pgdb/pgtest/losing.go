package pgtest

import (
	"fmt"
	"net"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb"
)

// How a transaction loses against another one (PostgreSQL, appendix A).
const (
	SerializationFailure = "40001"
	DeadlockDetected     = "40P01"
)

// Losing is a way to a test's database on which every transaction loses against another
// one that nobody sees: it does all that it was asked, and is rolled back where it would
// be committed. The next on that connection, which is the same one again, is let pass.
//
// What fails for a reason of its own does not lose, nor what its caller rolls back, nor a
// single statement that is sent as text without values.
type Losing struct {
	*DB // its pools and addresses go this way, its Connect goes straight there

	t     testing.TB
	times atomic.Int32
	lost  atomic.Int64

	mu      sync.Mutex
	code    string
	instead func()
	wires   map[string]string // addresses of this way, by those that they lead to
}

// NewLosing leads to a database, which others may use as before.
func NewLosing(t testing.TB, d *DB) *Losing {
	t.Helper()
	l := &Losing{t: t, code: SerializationFailure, wires: map[string]string{}}
	l.times.Store(1)
	by := *d
	by.t, by.straight = t, d.dsn
	by.dsn = func(role, database string) string { return l.wire(d.dsn(role, database)) }
	by.App = by.Open(pgdb.App)
	l.DB = &by
	return l
}

// Times changes how often one and the same transaction loses, once at first.
func (l *Losing) Times(n int) { l.times.Store(int32(n)) }

// Lost is how many lost so far.
func (l *Losing) Lost() int64 { return l.lost.Load() }

// As changes the code with which they lose, SerializationFailure at first.
func (l *Losing) As(code string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.code = code
}

// Instead has something happen whenever one lost, before its caller hears of it.
func (l *Losing) Instead(do func()) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.instead = do
}

func (l *Losing) now() (code string, instead func()) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.code, l.instead
}

func (l *Losing) happened() {
	l.lost.Add(1)
	if _, do := l.now(); do != nil {
		do()
	}
}

// wire returns an address by way of which one comes to another.
func (l *Losing) wire(dsn string) string {
	l.t.Helper()
	l.mu.Lock()
	defer l.mu.Unlock()
	if by, has := l.wires[dsn]; has {
		return by
	}
	to, err := pgx.ParseConfig(dsn)
	if err != nil {
		l.t.Fatal(err)
	}
	network, address := "tcp", net.JoinHostPort(to.Host, fmt.Sprint(to.Port))
	if filepath.IsAbs(to.Host) {
		network, address = "unix", filepath.Join(to.Host, fmt.Sprintf(".s.PGSQL.%d", to.Port))
	}
	at, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		l.t.Fatal(err)
	}
	l.t.Cleanup(l.serve(at, func() (net.Conn, error) { return net.Dial(network, address) }))
	l.wires[dsn] = fmt.Sprintf("postgres://%s:%s@%s/%s?sslmode=disable", to.User, to.Password, at.Addr(), to.Database)
	return l.wires[dsn]
}

// serve joins whoever comes with a database, until it is told to stop.
func (l *Losing) serve(at net.Listener, dial func() (net.Conn, error)) (stop func()) {
	var going sync.WaitGroup
	var mu sync.Mutex
	open := map[net.Conn]bool{}
	going.Go(func() {
		for {
			client, err := at.Accept()
			if err != nil {
				return
			}
			server, err := dial()
			if err != nil {
				client.Close()
				continue
			}
			mu.Lock()
			open[client], open[server] = true, true
			mu.Unlock()
			s := newSession(l)
			going.Go(func() { pass(server, client, false, s.ask) })
			going.Go(func() { pass(client, server, true, s.answer) })
		}
	})
	return func() {
		at.Close()
		mu.Lock()
		for c := range open {
			c.Close()
		}
		mu.Unlock()
		going.Wait()
	}
}
