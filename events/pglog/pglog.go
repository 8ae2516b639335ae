// Package pglog keeps the events of jobs in Postgres. It is an events.Log.
//
// Each job has one narrow row, head, that holds the number of its last event
// and the state of its tree. An append moves that row on by compare-and-set
// and inserts the events in the same statement, one round trip in all; the row
// is the only thing that two appends to one job contend for, and the reason
// why numbers have no gaps and follow the order of commits.
package pglog

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgdb"
)

// maxLines bounds the heads that are kept in memory, about 1 KB each.
const maxLines = 8192

// Log is an events.Log on a database at the current schema. It keeps nothing
// that another process could not change: what it remembers of heads is checked
// by the database at each append.
type Log struct {
	db    *pgdb.DB
	lines *lines
	gate  *gate

	counters counters
}

// New makes a log on a pool under the role pgdb.App. The pool stays the
// caller's to close.
func New(db *pgdb.DB) *Log {
	return &Log{db: db, lines: newLines(maxLines), gate: newGate()}
}

// Create implements events.Log.
func (l *Log) Create(ctx context.Context, firm, job events.ID) error {
	empty := events.Frontier(nil).Root()
	err := l.db.Write(ctx, firm, func(b *pgx.Batch) {
		b.Queue(`
			INSERT INTO head (firm, job, root) VALUES ($1, $2, $3)
			ON CONFLICT ON CONSTRAINT head_pkey DO NOTHING`,
			[16]byte(firm), [16]byte(job), empty[:])
		pgdb.Repeatable(b)
	})
	if err != nil {
		return fmt.Errorf("create the job's log: %w", err)
	}
	return nil
}

const selectHead = `SELECT seq, root, frontier FROM head WHERE firm = $1 AND job = $2`

// Head implements events.Log.
func (l *Log) Head(ctx context.Context, firm, job events.ID) (events.Head, error) {
	var head events.Head
	err := l.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(selectHead, [16]byte(firm), [16]byte(job)).QueryRow(func(row pgx.Row) (err error) {
			head, err = scanHead(row)
			return err
		})
	})
	if err != nil {
		return events.Head{}, fmt.Errorf("read the job's head: %w", err)
	}
	return head, nil
}

const selectSeqs = `SELECT job, seq FROM head WHERE firm = $1 AND job = ANY ($2)`

// Seqs implements events.Log.
func (l *Log) Seqs(ctx context.Context, firm events.ID, jobs []events.ID) (map[events.ID]int64, error) {
	list := make([][16]byte, len(jobs))
	for i, job := range jobs {
		list[i] = job
	}
	var seqs map[events.ID]int64
	err := l.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(selectSeqs, [16]byte(firm), list).Query(func(rows pgx.Rows) error {
			seqs = map[events.ID]int64{}
			var job events.ID
			var seq int64
			_, err := pgx.ForEachRow(rows, []any{(*[16]byte)(&job), &seq}, func() error { seqs[job] = seq; return nil })
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("read the numbers of jobs: %w", err)
	}
	return seqs, nil
}

func scanHead(row pgx.Row) (events.Head, error) {
	var head events.Head
	var root, frontier []byte
	err := row.Scan(&head.Seq, &root, &frontier)
	if errors.Is(err, pgx.ErrNoRows) {
		return head, events.ErrNotFound
	}
	if err != nil {
		return head, err
	}
	// The lengths are held by the table's constraints.
	head.Root = events.Hash(root)
	for ; len(frontier) > 0; frontier = frontier[len(head.Root):] {
		head.Frontier = append(head.Frontier, events.Hash(frontier[:len(head.Root)]))
	}
	return head, nil
}

func joinHashes(f events.Frontier) []byte {
	joined := make([]byte, 0, len(f)*len(events.Hash{}))
	for _, h := range f {
		joined = append(joined, h[:]...)
	}
	return joined
}
