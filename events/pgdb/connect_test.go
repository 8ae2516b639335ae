package pgdb_test

import (
	"context"
	"fmt"
	"net"
	"testing"
	"time"

	"relevel/events/pgdb"
)

// A database that takes a connection and says nothing is given up, by those too who
// prepare one or copy it.
func TestConnectGivesUp(t *testing.T) {
	pgdb.ConnectWithin(t, 100*time.Millisecond)
	silent, err := net.Listen("tcp", "127.0.0.1:0") // the kernel takes connections, and nobody reads
	if err != nil {
		t.Fatal(err)
	}
	defer silent.Close()
	dsn := fmt.Sprintf("postgres://relevel_backup@%s/relevel?sslmode=disable", silent.Addr())
	ctx, done := context.WithTimeout(t.Context(), time.Minute)
	defer done()
	if conn, err := pgdb.Connect(ctx, dsn); err == nil || ctx.Err() != nil {
		t.Errorf("connected: %v, %v, %v", conn != nil, err, ctx.Err())
	}
	if err := pgdb.EnsureRoles(ctx, dsn); err == nil || ctx.Err() != nil {
		t.Errorf("made roles: %v, %v", err, ctx.Err())
	}
	if _, err := pgdb.Connect(ctx, "postgres://db:port/x"); err == nil {
		t.Error("an address that is none was taken")
	}
}
