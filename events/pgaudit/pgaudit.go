// Package pgaudit reads a whole database of events and says whether it is what was
// sealed and signed: after a restore, or whenever somebody wants to know.
//
// Of every job all records are read. Each one's leaf is reckoned anew from the bytes
// that are kept and compared with the one that is kept; the tree is grown from those
// leaves and compared with every checkpoint that was signed on the way, whose
// signatures are checked, and at its end with the job's head. A record whose bytes
// are gone has to be named by a later one that says they were erased. The log of
// each firm's checkpoints is held against them likewise. Whoever knows heads from
// earlier, as a backup does, has the trees compared with those, too.
//
// It needs a role that sees all firms: relevel_backup or relevel_owner. In memory
// are one job's checkpoints and the numbers of its erased records. Nothing is changed.
package pgaudit

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
	"golang.org/x/mod/sumdb/note"

	"relevel/events"
	"relevel/events/proof"
)

// Head is a job's state as somebody knew it at some time.
type Head struct {
	Firm, Job events.ID
	Seq       int64
	Root      events.Hash
}

// Check is what a database is held against, beside itself.
type Check struct {
	Known []Head             // each job had these records then, or more by now
	Tell  func(events int64) // is told now and then how many were read; may be nil
}

// Report says what was read and what does not hold.
type Report struct {
	Firms, Jobs, Events, Erased int64
	Checkpoints                 int64 // of jobs, all of which agree unless a fault says otherwise
	FirmCheckpoints             int64
	Faults                      []string // for people; each names its job and record
}

// tellEvery is how many events are read between two words about it.
const tellEvery = 10_000

// maxFaults bounds what one report holds. Where more is wrong than that, more of the
// same tells nobody anything.
const maxFaults = 1000

func (r *Report) fault(format string, args ...any) {
	if len(r.Faults) < maxFaults {
		r.Faults = append(r.Faults, fmt.Sprintf(format, args...))
	}
}

// Run reads the database as it is at one moment. The error is the connection's: what
// is wrong with the data is in the report. It is too long to be run again by itself where
// a standby's recovery ends it (40001): whoever asked may.
func Run(ctx context.Context, conn *pgx.Conn, c Check) (Report, error) {
	tx, err := conn.BeginTx(ctx, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly})
	if err != nil {
		return Report{}, fmt.Errorf("begin to check the database: %w", err)
	}
	defer tx.Rollback(context.WithoutCancel(ctx))
	a := &audit{tx: tx, check: c, known: map[logOf][]Head{}}
	for _, h := range c.Known {
		a.known[logOf{h.Firm, h.Job}] = append(a.known[logOf{h.Firm, h.Job}], h)
	}
	if err := a.run(ctx); err != nil {
		return Report{}, fmt.Errorf("check the database: %w", err)
	}
	return a.report, nil
}

// logOf names the log of one job.
type logOf struct{ firm, job events.ID }

func (l logOf) String() string { return fmt.Sprintf("firm %s, job %s", l.firm, l.job) }

type audit struct {
	tx     pgx.Tx
	check  Check
	known  map[logOf][]Head
	keys   []note.Verifier
	report Report
}

func (a *audit) run(ctx context.Context) error {
	// The owner of the schema has a bound on each statement in some set-ups.
	if _, err := a.tx.Exec(ctx, `SET LOCAL statement_timeout = 0`); err != nil {
		return err
	}
	if err := a.readKeys(ctx); err != nil {
		return err
	}
	heads, err := a.heads(ctx)
	if err != nil {
		return err
	}
	firms := map[events.ID]bool{}
	for _, h := range heads {
		firms[h.firm] = true
		if err := a.walk(ctx, h); err != nil {
			return err
		}
		delete(a.known, h.logOf)
	}
	for l, list := range a.known {
		a.report.fault("%s: it is gone, and had %d records", l, list[0].Seq)
	}
	if err := a.strays(ctx); err != nil {
		return err
	}
	return a.firmLogs(ctx)
}

// readKeys reads the public halves of all keys that ever signed here.
func (a *audit) readKeys(ctx context.Context) error {
	rows, err := a.tx.Query(ctx, `SELECT verifier FROM public_key`)
	if err != nil {
		return err
	}
	texts, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return err
	}
	for _, text := range texts {
		key, err := proof.ParseVerifier(text)
		if err != nil {
			a.report.fault("a public key is not as it was kept: %v", err)
			continue
		}
		a.keys = append(a.keys, key)
	}
	return nil
}

// head is a job's row.
type head struct {
	logOf
	seq      int64
	root     []byte
	frontier []byte
}

func (a *audit) heads(ctx context.Context) ([]head, error) {
	if err := a.tx.QueryRow(ctx, `SELECT count(*) FROM firm`).Scan(&a.report.Firms); err != nil {
		return nil, err
	}
	rows, err := a.tx.Query(ctx, `SELECT firm, job, seq, root, frontier FROM head ORDER BY firm, job`)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (h head, err error) {
		return h, row.Scan((*[16]byte)(&h.firm), (*[16]byte)(&h.job), &h.seq, &h.root, &h.frontier)
	})
}

// strays looks for what belongs to no job or no record.
func (a *audit) strays(ctx context.Context) error {
	for _, look := range []struct{ sql, says string }{
		{`SELECT DISTINCT firm, job, 0::bigint FROM event e WHERE NOT EXISTS (SELECT FROM head h WHERE h.firm = e.firm AND h.job = e.job)`,
			"it has records and no head"},
		{`SELECT firm, job, min(seq) FROM event_bytes b WHERE NOT EXISTS (SELECT FROM event e WHERE e.firm = b.firm AND e.job = b.job AND e.seq = b.seq) GROUP BY firm, job`,
			"the bytes of a record are there without it"},
		{`SELECT DISTINCT firm, job, 0::bigint FROM checkpoint c WHERE NOT EXISTS (SELECT FROM head h WHERE h.firm = c.firm AND h.job = c.job)`,
			"it was signed and is gone"},
	} {
		rows, err := a.tx.Query(ctx, look.sql)
		if err != nil {
			return err
		}
		var l logOf
		var seq int64
		_, err = pgx.ForEachRow(rows, []any{(*[16]byte)(&l.firm), (*[16]byte)(&l.job), &seq}, func() error {
			a.report.fault("%s, record %d: %s", l, seq, look.says)
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// unsigned says in words why a note does not hold.
func unsigned(err error) string {
	if errors.Is(err, proof.ErrUnsigned) {
		return "no key that is known signed it"
	}
	return err.Error()
}
