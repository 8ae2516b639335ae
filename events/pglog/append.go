package pglog

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgdb"
)

// maxTries bounds how often one append is tried whose connection was lost, or whose
// bodies the database refuses. What loses against another transaction WithFirm repeats.
const maxTries = 4

// Append implements events.Log.
func (l *Log) Append(ctx context.Context, b events.Batch) (events.Receipt, error) {
	if err := b.Check(); err != nil {
		return events.Receipt{}, err
	}
	if len(b.Events) == 0 {
		head, err := l.Head(ctx, b.Firm, b.Job)
		return events.Receipt{Head: head}, err
	}
	line, err := l.lines.enter(ctx, b.Firm, b.Job)
	if err != nil {
		return events.Receipt{}, err
	}
	defer l.lines.leave(line)
	receipt, err := l.appendInTurn(ctx, line, b)
	if err != nil {
		line.known = false // whatever happened, the database knows
		return events.Receipt{}, fmt.Errorf("append to the log: %w", err)
	}
	line.head, line.known = receipt.Head, true
	return receipt, nil
}

func (l *Log) appendInTurn(ctx context.Context, line *line, b events.Batch) (events.Receipt, error) {
	salts := newSalts(len(b.Events))
	body := bodyFunc(queryable)
	var unknown error                // of an earlier try
	if line.known && b.Onto == nil { // what is decided looks at the head under its lock
		a := b.Arrange(line.head, nil, salts)
		done, err := l.appendFast(ctx, line, a)
		switch {
		case done:
			l.counters.fast.Add(1)
			return a.Receipt, nil
		case pgdb.Refused(err):
			body = noBody
		case err != nil && !alone(err):
			return events.Receipt{}, err
		case err == nil && len(a.New) > 0 && len(a.Apart) == 0:
			l.counters.moved.Add(1)
		}
		unknown = ifUnknown(err)
	}
	l.counters.slow.Add(1)
	for try := 1; ; try++ {
		if try > 1 {
			l.counters.retried.Add(1)
		}
		receipt, err := l.appendSlow(ctx, b, salts, body)
		if errors.Is(err, events.ErrUnavailable) {
			err = errors.Join(unknown, err)
		}
		unknown = ifUnknown(err)
		switch {
		case err == nil || try == maxTries || ctx.Err() != nil:
			return receipt, err
		case pgdb.Refused(err):
			body = noBody
		case !pgdb.Lost(err):
			return receipt, err
		}
	}
}

// ifUnknown keeps an error after which a batch may be stored: only a try that looked
// tells, and not one that did not get so far.
func ifUnknown(err error) error {
	if errors.Is(err, events.ErrUnknown) {
		return events.ErrUnknown
	}
	return nil
}

func newSalts(n int) []events.Salt {
	salts := make([]events.Salt, n)
	for i := range salts {
		rand.Read(salts[i][:]) // never fails
	}
	return salts
}

// appendFast supposes that no event of the batch is in the log yet and that
// nobody else has appended since we last did. Where that is wrong nothing is
// stored: the head has moved (not done), or an id is there (23505).
func (l *Log) appendFast(ctx context.Context, line *line, a events.Arranged) (done bool, err error) {
	if len(a.New) == 0 || len(a.Apart) > 0 {
		return false, nil
	}
	w := &waiting{job: line.key.job, was: line.head.Seq, plan: a, done: make(chan struct{})}
	return l.gate.pass(ctx, l.db, line.key.firm, w)
}

// alone tells the errors of a flush after which an append may be tried by
// itself, the longer way.
func alone(err error) bool {
	return errors.Is(err, errTogether) || pgdb.UniqueViolation(err) || pgdb.Retryable(err) || pgdb.Lost(err)
}

// appendSlow locks the head first and looks up the ids in a later statement,
// which therefore sees everything that was appended before.
func (l *Log) appendSlow(ctx context.Context, b events.Batch, salts []events.Salt, body bodyFunc) (events.Receipt, error) {
	var receipt events.Receipt
	err := l.db.WithFirm(ctx, b.Firm, func(tx pgx.Tx) error {
		head, err := lockHead(ctx, tx, b)
		if err != nil {
			return err
		}
		known, err := findKnown(ctx, tx, b)
		if err != nil {
			return err
		}
		a := b.Arrange(head, known, salts)
		if err := b.Follows(head, a); err != nil {
			return err
		}
		receipt = a.Receipt
		return store(ctx, tx, b, head.Seq, a, body)
	})
	if err != nil {
		return events.Receipt{}, err
	}
	return receipt, nil
}

// lockHead takes the weakest lock that keeps other appends away.
func lockHead(ctx context.Context, tx pgx.Tx, b events.Batch) (events.Head, error) {
	head, err := scanHead(tx.QueryRow(ctx, selectHead+` FOR NO KEY UPDATE`, [16]byte(b.Firm), [16]byte(b.Job)))
	if err != nil {
		return head, fmt.Errorf("lock the job's head: %w", err)
	}
	return head, nil
}

// Each id is looked up by itself, whatever its job, and so are its bytes. The plan for any
// job takes every one for a job of a few events, and would read the whole of it for the few
// that have these ids: 100 000 rows for the first append to a long job after a start.
const selectKnown = `
	SELECT e.id, e.seq, e.kind, e.recorded_at, e.leaf, x.salt
	FROM unnest($3::uuid[]) AS n (id)
	CROSS JOIN LATERAL (
		SELECT id, job, seq, kind, recorded_at, leaf FROM event WHERE firm = $1 AND id = n.id OFFSET 0
	) e LEFT JOIN LATERAL (
		SELECT salt FROM event_bytes WHERE firm = $1 AND job = $2 AND seq = e.seq OFFSET 0
	) x ON true
	WHERE e.job = $2`

// findKnown looks up which ids of a batch the log has.
func findKnown(ctx context.Context, tx pgx.Tx, b events.Batch) (map[events.ID]events.Known, error) {
	ids := make([][16]byte, len(b.Events))
	for i, e := range b.Events {
		ids[i] = e.Event.ID
	}
	rows, err := tx.Query(ctx, selectKnown, [16]byte(b.Firm), [16]byte(b.Job), ids)
	if err != nil {
		return nil, fmt.Errorf("look up the events: %w", err)
	}
	defer rows.Close()
	known := make(map[events.ID]events.Known)
	for rows.Next() {
		var id events.ID
		var k events.Known
		var leaf []byte
		if err := rows.Scan((*[16]byte)(&id), &k.Seq, (*string)(&k.Kind), &k.RecordedAt, &leaf, &k.Salt); err != nil {
			return nil, fmt.Errorf("look up the events: %w", err)
		}
		k.Leaf = events.Hash(leaf)
		known[id] = k
	}
	return known, rows.Err()
}

var errHeadMoved = errors.New("the head of a locked job moved")

// store writes what was arranged under the lock.
func store(ctx context.Context, tx pgx.Tx, b events.Batch, was int64, a events.Arranged, body bodyFunc) error {
	var batch pgx.Batch
	var moved []events.ID
	if len(a.New) > 0 {
		f := flush{firm: b.Firm, body: body}
		f.add(b.Job, was, a)
		f.queue(&batch, &moved)
	}
	for _, q := range a.Apart {
		queueQuarantine(&batch, q)
	}
	if batch.Len() == 0 {
		return nil
	}
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return fmt.Errorf("store the events: %w", err)
	}
	if len(a.New) > 0 && len(moved) != 1 {
		return errHeadMoved
	}
	return nil
}
