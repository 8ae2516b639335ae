// Package pgbell lets servers wake each other through the Postgres that they share, by
// NOTIFY behind the commits. What is sent are the ids of firms, which say nothing.
//
// It needs a session that lasts: through a pooler that hands a connection out for one
// transaction nothing is heard, and servers find out by looking.
package pgbell

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgdb"
)

const (
	channel = "relevel_bell"
	// A connection on which nothing was heard for so long is tried: its server may be
	// gone without a word.
	silence = 30 * time.Second
	answers = 5 * time.Second
)

// Bell is a server.Bell. What it rings it does not hear itself.
type Bell struct {
	db      *pgdb.DB
	own     string
	silence time.Duration
}

// New makes the bell of one server over a pool, which stays the caller's to close. To
// listen it takes one connection beside the pool's.
func New(db *pgdb.DB) *Bell { return &Bell{db: db, own: rand.Text(), silence: silence} }

// Ring implements server.Bell, for up to 200 firms: a payload takes 8000 bytes.
func (b *Bell) Ring(ctx context.Context, firms []events.ID) error {
	words := make([]string, 1, 1+len(firms))
	words[0] = b.own
	for _, firm := range firms {
		words = append(words, firm.String())
	}
	err := b.db.BeforeFirm(ctx, func(q *pgx.Batch) {
		q.Queue(`SELECT pg_notify($1, $2)`, channel, strings.Join(words, " "))
	})
	if err != nil {
		return fmt.Errorf("ring: %w", err)
	}
	return nil
}

// Listen implements server.Bell.
func (b *Bell) Listen(ctx context.Context, ready func(), heard func(firm events.ID)) error {
	conn, err := pgx.ConnectConfig(ctx, b.db.Pool().Config().ConnConfig)
	if err != nil {
		return fmt.Errorf("connect to listen: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if _, err := conn.Exec(ctx, "LISTEN "+channel); err != nil {
		return fmt.Errorf("listen: %w", err)
	}
	ready()
	for {
		if err := b.hear(ctx, conn, heard); err != nil {
			return fmt.Errorf("listen: %w", err)
		}
	}
}

// hear waits for one ring, or sees after a while that there may still be one.
func (b *Bell) hear(ctx context.Context, conn *pgx.Conn, heard func(firm events.ID)) error {
	wait, cancel := context.WithTimeout(ctx, b.silence)
	defer cancel()
	n, err := conn.WaitForNotification(wait)
	if err != nil && ctx.Err() == nil && errors.Is(err, context.DeadlineExceeded) {
		alive, cancel := context.WithTimeout(ctx, answers)
		defer cancel()
		return conn.Ping(alive)
	}
	if err != nil {
		return err
	}
	words := strings.Fields(n.Payload)
	if len(words) == 0 || words[0] == b.own {
		return nil
	}
	for _, word := range words[1:] {
		if firm, err := events.ParseID(word); err == nil {
			heard(firm)
		}
	}
	return nil
}
