package pgaudit

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/proof"
)

const (
	selectCheckpoints = `
		SELECT size, frontier, note FROM checkpoint
		WHERE firm = $1 AND job = $2 ORDER BY size`
	// The bytes of each record are looked up by its number. As a plain join, the plan for
	// any job, which takes every one for a short one, compares a long job's records with
	// each of its bytes: an hour for a job of 100 000.
	selectRecords = `
		SELECT e.seq, e.id, e.kind, e.v, e.recorded_at, e.leaf, x.salt, x.bytes
		FROM event e LEFT JOIN LATERAL (
			SELECT b.salt, b.bytes FROM event_bytes b WHERE b.firm = e.firm AND b.job = e.job AND b.seq = e.seq OFFSET 0
		) x ON true
		WHERE e.firm = $1 AND e.job = $2 ORDER BY e.seq`
)

// growing is a job's tree while its records are read.
type growing struct {
	*audit
	head
	size     int64
	frontier events.Frontier
	marks    []mark         // what the tree has to be at sizes to come, ascending
	erased   map[int64]bool // records without bytes that none has named yet
	broken   bool           // a fault was found: what follows from it is not told
}

// mark says what the tree has to be at a size.
type mark struct {
	size int64
	root events.Hash
	what string
}

func (g *growing) fault(format string, args ...any) {
	g.broken = true
	g.report.fault("%s: %s", g.logOf, fmt.Sprintf(format, args...))
}

// walk reads one job's log from its first record to its last.
func (a *audit) walk(ctx context.Context, h head) error {
	g := &growing{audit: a, head: h, erased: map[int64]bool{}}
	a.report.Jobs++
	if err := g.checkpoints(ctx); err != nil {
		return err
	}
	for _, k := range a.known[h.logOf] {
		g.mark(k.Seq, k.Root, "what the backup says of it")
	}
	g.reach()
	if err := g.records(ctx); err != nil {
		return err
	}
	g.end()
	return nil
}

// mark adds something to be met, in its place.
func (g *growing) mark(size int64, root events.Hash, what string) {
	at := len(g.marks)
	for at > 0 && g.marks[at-1].size > size {
		at--
	}
	g.marks = append(g.marks[:at], append([]mark{{size, root, what}}, g.marks[at:]...)...)
}

// checkpoints reads what was signed of the job.
func (g *growing) checkpoints(ctx context.Context) error {
	rows, err := g.tx.Query(ctx, selectCheckpoints, [16]byte(g.firm), [16]byte(g.job))
	if err != nil {
		return err
	}
	var size int64
	var frontier, text []byte
	_, err = pgx.ForEachRow(rows, []any{&size, &frontier, &text}, func() error {
		g.report.Checkpoints++
		what := fmt.Sprintf("the checkpoint of %d records", size)
		signed, err := proof.Open(text, g.keys...)
		switch {
		case err != nil:
			g.report.fault("%s: %s: %s", g.logOf, what, unsigned(err))
		case signed.Size != size || rootOf(frontier) != signed.Root || !strings.HasSuffix(signed.Origin, proof.JobOrigin("", g.firm, g.job)):
			g.report.fault("%s: %s: it was signed over something else", g.logOf, what)
		default:
			g.mark(size, signed.Root, what)
		}
		return nil
	})
	return err
}

func rootOf(frontier []byte) events.Hash {
	var f events.Frontier
	for ; len(frontier) >= len(events.Hash{}); frontier = frontier[len(events.Hash{}):] {
		f = append(f, events.Hash(frontier[:len(events.Hash{})]))
	}
	return f.Root()
}

func (g *growing) records(ctx context.Context) error {
	rows, err := g.tx.Query(ctx, selectRecords, [16]byte(g.firm), [16]byte(g.job))
	if err != nil {
		return err
	}
	l := events.Leaf{Firm: g.firm, Job: g.job}
	var v int
	var leaf, salt, raw []byte
	_, err = pgx.ForEachRow(rows, []any{&l.Seq, (*[16]byte)(&l.ID), &l.Kind, &v, &l.RecordedAt, &leaf, &salt, &raw}, func() error {
		g.record(l, leaf, salt, raw)
		return ctx.Err()
	})
	return err
}

func (g *growing) record(l events.Leaf, leaf, salt, raw []byte) {
	g.report.Events++
	if g.check.Tell != nil && g.report.Events%tellEvery == 0 {
		g.check.Tell(g.report.Events)
	}
	if l.Seq != g.size+1 && !g.broken {
		g.fault("record %d is missing", g.size+1)
	}
	var kept events.Hash
	copy(kept[:], leaf)
	switch l.Commitment = events.Commit(salt, raw); {
	case raw == nil:
		g.report.Erased++
		g.erased[l.Seq] = true
	case l.Hash() != kept:
		g.fault("record %d is not as it was sealed: its bytes or its row were changed", l.Seq)
	case l.Kind == events.KindErased:
		g.named(raw)
	}
	g.size = l.Seq
	if !g.broken { // a tree with a gap is none
		g.frontier = g.frontier.Grow(l.Seq-1, kept)
	}
	g.reach()
}

// named takes note of what a record says was erased.
func (g *growing) named(raw []byte) {
	in, err := events.Receive(raw)
	if err != nil {
		return
	}
	body, err := events.Open(in.Event.Kind, in.Event.V, in.Event.Body)
	if err != nil {
		return
	}
	for _, seq := range body.(*events.Erased).Records {
		delete(g.erased, seq)
	}
}

// reach compares the tree with what it has to be at its present size. Once a record
// is missing the roots say nothing more.
func (g *growing) reach() {
	for len(g.marks) > 0 && g.marks[0].size <= g.size {
		m := g.marks[0]
		g.marks = g.marks[1:]
		if !g.broken && m.size == g.size && g.frontier.Root() != m.root {
			g.fault("its records are others than %s", m.what)
		}
	}
}

func (g *growing) end() {
	for _, seq := range slices.Sorted(maps.Keys(g.erased)) {
		g.report.fault("%s: the content of record %d is gone, and no record says that it was erased", g.logOf, seq)
	}
	if g.broken {
		return
	}
	switch {
	case g.size < g.seq:
		g.fault("records %d to %d are missing at the end", g.size+1, g.seq)
	case g.size > g.seq, g.frontier.Root() != events.Hash(g.root), rootOf(g.head.frontier) != events.Hash(g.root):
		g.fault("its head is not that of its records")
	}
	for _, m := range g.marks {
		g.fault("it has %d records and %s has %d", g.size, m.what, m.size)
		return
	}
}
