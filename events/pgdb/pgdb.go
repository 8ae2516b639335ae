// Package pgdb is how the rest of the program reaches Postgres: one pool with
// bounds on every wait, one way to say on whose behalf a transaction runs, one
// translation of the database's errors, and the migrations of its schema.
package pgdb

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"relevel/events"
)

// Every wait is bounded, so that a database that hangs is an error soon and
// not a server full of stuck requests.
const (
	defaultMaxConns = 16
	connectTimeout  = 3 * time.Second
	pingTimeout     = 2 * time.Second
	acquireTimeout  = 5 * time.Second
	// commitTimeout bounds what is not to be cancelled: a statement that
	// commits, and COMMIT itself. It is longer than statement_timeout.
	commitTimeout = 15 * time.Second
)

// sessionSettings hold for every connection unless the DSN says otherwise.
var sessionSettings = map[string]string{
	"application_name":                    "relevel",
	"statement_timeout":                   "10s",
	"lock_timeout":                        "5s",
	"idle_in_transaction_session_timeout": "15s",
	"client_connection_check_interval":    "1s",
	"timezone":                            "UTC",
	"jit":                                 "off",
}

// DB is a pool of connections under one role. All its methods may be called
// from many goroutines.
type DB struct {
	pool    *pgxpool.Pool
	repeats atomic.Int64
}

// Open prepares a pool for a DSN, which may name several hosts; the one that
// takes writes is used. The pool holds pool_max_conns connections, 16 if the
// DSN does not say. Open does not connect: a database that is away shows when
// it is used, and may come back. A tracer, if there is one, sees each statement.
func Open(ctx context.Context, dsn string, tracer ...pgx.QueryTracer) (*DB, error) {
	config, err := poolConfig(dsn)
	if err != nil {
		return nil, err
	}
	for _, t := range tracer {
		config.ConnConfig.Tracer = t
	}
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return nil, fmt.Errorf("open the database pool: %w", err)
	}
	return &DB{pool: pool}, nil
}

func poolConfig(dsn string) (*pgxpool.Config, error) {
	config, err := pgxpool.ParseConfig(dsn)
	if err != nil {
		return nil, fmt.Errorf("read the database address: %w", err)
	}
	conn := config.ConnConfig
	switch conn.DefaultQueryExecMode {
	case pgx.QueryExecModeSimpleProtocol, pgx.QueryExecModeExec:
		return nil, errors.New("default_query_exec_mode in the database address: leave it out; values must travel apart from the statement, and typed")
	}
	if !strings.Contains(dsn, "pool_max_conns") {
		config.MaxConns = defaultMaxConns
	}
	if conn.ConnectTimeout == 0 {
		conn.ConnectTimeout = connectTimeout
	}
	if conn.ValidateConnect == nil {
		conn.ValidateConnect = pgconn.ValidateConnectTargetSessionAttrsReadWrite
	}
	for name, value := range sessionSettings {
		if _, given := conn.RuntimeParams[name]; !given {
			conn.RuntimeParams[name] = value
		}
	}
	config.PingTimeout = pingTimeout
	config.MaxConnLifetimeJitter = 5 * time.Minute
	conn.OnNotice = noteWarning
	return config, nil
}

// Close waits for connections in use and closes the pool.
func (d *DB) Close() { d.pool.Close() }

// Ping reports whether the database answers now and takes writes. One that became a
// standby answers on the old connections as if nothing had happened.
func (d *DB) Ping(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, pingTimeout)
	defer cancel()
	var readOnly bool
	err := d.lookUp(ctx, []any{&readOnly}, `SELECT current_setting('transaction_read_only')::bool`)
	if err == nil && readOnly {
		d.pool.Reset() // the next connections find the one that takes writes
		return fmt.Errorf("%w: the database takes no writes", events.ErrUnavailable)
	}
	return err
}

// lookUp reads one row of what is of no firm.
func (d *DB) lookUp(ctx context.Context, into []any, sql string, args ...any) error {
	return d.OverFirms(ctx, func(b *pgx.Batch) {
		b.Queue(sql, args...).QueryRow(func(row pgx.Row) error { return row.Scan(into...) })
	})
}

// Pool is the pool itself, for its figures and for what looks over the schema by hand.
// What is sent by way of it is not run again (TestNobodyElseBegins lists who does).
func (d *DB) Pool() *pgxpool.Pool { return d.pool }

// acquire takes a connection within bounds, and never for a caller who has
// left already.
func (d *DB) acquire(ctx context.Context) (*pgxpool.Conn, error) {
	ctx, cancel := context.WithTimeout(ctx, acquireTimeout)
	defer cancel()
	conn, err := d.pool.Acquire(ctx)
	if err != nil {
		return nil, fmt.Errorf("%w: no connection: %w", events.ErrUnavailable, err)
	}
	return conn, nil
}
