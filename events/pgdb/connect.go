package pgdb

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"
)

// connectAlone bounds how long somebody waits who connects once, and may wait a little
// longer than a request.
var connectAlone = 10 * time.Second

// Connect opens one connection, for whoever prepares a database, copies or restores one.
// A database that takes the connection and says nothing is given up after some seconds,
// unless the address says connect_timeout: a backup by night would else wait until day.
func Connect(ctx context.Context, dsn string) (*pgx.Conn, error) {
	config, err := pgx.ParseConfig(dsn)
	if err != nil {
		return nil, err
	}
	if config.ConnectTimeout == 0 {
		config.ConnectTimeout = connectAlone
	}
	return pgx.ConnectConfig(ctx, config)
}
