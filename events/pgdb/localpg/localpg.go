// Package localpg runs a private Postgres from the binaries that are installed
// on this machine. It is what the embedded default stores its events in: one
// machine, one data folder, no TCP, nothing to configure.
//
// The server listens on a Unix socket in a folder of mode 0700 and asks the
// kernel who is calling (peer authentication), so that only the account that
// started this program, and the account Postgres runs as, can connect. It
// stops when this process stops, however this process stops.
package localpg

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"time"
)

// Superuser is the database role that owns the cluster. It makes the other
// roles and the database, and is used for nothing else.
const Superuser = "postgres"

// Config says where a private Postgres keeps its data and who may connect.
type Config struct {
	// Dir is the data folder. It is made when missing; its parents must be
	// open to the account Postgres runs as.
	Dir string
	// Roles are the database roles, beside Superuser, that this process
	// connects as. The roles need not exist yet.
	Roles []string
	// Log takes what Postgres writes to its log; nil drops it.
	Log io.Writer
	// Patience bounds one start, recovery included; 0 is two minutes. A folder that
	// was restored may have days of changes to take in.
	Patience time.Duration
	// Scratch gives up durability for speed: no fsync anywhere. Only for data
	// that is thrown away, such as that of tests.
	Scratch bool
}

// Server is a running private Postgres. Should its process die, it is started
// again, and recovers what was committed, until Stop is called.
type Server struct {
	config   Config
	binaries string
	account  account
	socket   string
	lock     *os.File

	mu       sync.Mutex
	current  *postmaster
	stopping bool

	stop context.CancelFunc
	done chan struct{}
	err  error // why it ended; read after done
}

// Start finds the binaries, makes the data folder if there is none, waits for
// a predecessor on the same folder to end, and returns when the server accepts
// connections. It holds the folder until Stop; a second Start on it, by this
// or another process, is an error.
func Start(ctx context.Context, c Config) (*Server, error) {
	dir, err := filepath.Abs(c.Dir)
	if err != nil {
		return nil, fmt.Errorf("find the data folder: %w", err)
	}
	c.Dir = dir
	if c.Log == nil {
		c.Log = io.Discard
	}
	s := &Server{config: c, done: make(chan struct{})}
	if err := s.prepare(ctx); err != nil {
		s.release()
		return nil, err
	}
	if s.current, err = s.launch(ctx); err != nil {
		s.release()
		return nil, err
	}
	var watching context.Context
	watching, s.stop = context.WithCancel(context.Background())
	go s.watch(watching)
	return s, nil
}

// prepare brings the folder to the state a postmaster can start from.
func (s *Server) prepare(ctx context.Context) error {
	var err error
	if s.binaries, err = findBinaries(); err != nil {
		return err
	}
	if s.account, err = chooseAccount(s.config.Dir); err != nil {
		return err
	}
	if err := s.account.openParents(s.config.Dir); err != nil {
		return err
	}
	if s.lock, err = lockFile(s.config.Dir + ".lock"); err != nil {
		return err
	}
	if err := endOrphan(ctx, s.config.Dir); err != nil {
		return err
	}
	if s.socket, err = s.account.socketFolder(s.config.Dir); err != nil {
		return err
	}
	if err := s.ensureCluster(ctx); err != nil {
		return err
	}
	return s.writeAccess()
}

// lockFile holds a file against other processes. The kernel lets go of it
// when this process ends, whatever way it ends.
func lockFile(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fmt.Errorf("lock the data folder: %w", err)
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		f.Close()
		return nil, fmt.Errorf("%s is in use by another process: stop that one, or choose another data folder", path)
	}
	return f, nil
}

// release lets go of the folder. The socket's folder goes if it is empty, as
// it is when the server has ended by itself.
func (s *Server) release() {
	if s.socket != "" {
		os.Remove(s.socket)
	}
	if s.lock != nil {
		s.lock.Close()
	}
}

// DSN is the connection string for a role and a database of this server.
func (s *Server) DSN(role, database string) string { return socketDSN(s.socket, role, database) }

func socketDSN(socket, role, database string) string {
	u := url.URL{
		Scheme:   "postgres",
		User:     url.User(role),
		Path:     "/" + database,
		RawQuery: url.Values{"host": {socket}, "port": {port}}.Encode(),
	}
	return u.String()
}

// PID is the process id of the running postmaster.
func (s *Server) PID() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.current.pid
}

// Done is closed when the server has ended, by Stop or because it could not be
// kept running; Err then says which.
func (s *Server) Done() <-chan struct{} { return s.done }

// Err is nil while the server runs and after a clean Stop.
func (s *Server) Err() error {
	select {
	case <-s.done:
		return s.err
	default:
		return nil
	}
}

// stopPatience is how long a fast shutdown may take: it rolls back what is
// open and writes a checkpoint.
const stopPatience = 30 * time.Second

// Stop ends the server: sessions are cut, everything committed is on disk.
func (s *Server) Stop() error {
	s.mu.Lock()
	s.stopping = true
	p := s.current
	s.mu.Unlock()
	s.stop()
	err := p.end(stopPatience)
	<-s.done
	return errors.Join(err, s.err)
}
