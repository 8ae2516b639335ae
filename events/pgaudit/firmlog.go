package pgaudit

import (
	"context"

	"github.com/jackc/pgx/v5"
	"golang.org/x/mod/sumdb/tlog"

	"relevel/events"
	"relevel/events/proof"
)

const (
	selectLeaves = `
		SELECT l.firm, l.seq, l.job, l.size, l.leaf, c.note
		FROM firm_leaf l LEFT JOIN checkpoint c ON c.firm = l.firm AND c.job = l.job AND c.size = l.size
		ORDER BY l.firm, l.seq`
	selectFirmCheckpoints = `SELECT firm, size, frontier, note FROM firm_checkpoint ORDER BY firm, size`
)

// firmLogs holds every firm's log of checkpoints against those checkpoints, and its
// tree against what was signed of it.
func (a *audit) firmLogs(ctx context.Context) error {
	signed, err := a.firmCheckpoints(ctx)
	if err != nil {
		return err
	}
	rows, err := a.tx.Query(ctx, selectLeaves)
	if err != nil {
		return err
	}
	g := firmLog{audit: a, signed: signed}
	var firm, job events.ID
	var seq, size int64
	var leaf, text []byte
	_, err = pgx.ForEachRow(rows, []any{(*[16]byte)(&firm), &seq, (*[16]byte)(&job), &size, &leaf, &text}, func() error {
		if firm != g.firm {
			g.firm, g.last, g.frontier, g.broken = firm, 0, nil, false
		}
		if text == nil || tlog.RecordHash(text) != events.Hash(leaf) {
			a.report.fault("firm %s: entry %d of its log is not the checkpoint of job %s at %d records", firm, seq, job, size)
		}
		g.grow(seq, events.Hash(leaf))
		return nil
	})
	if err != nil {
		return err
	}
	for firm, marks := range signed {
		for size := range marks {
			a.report.fault("firm %s: its log was signed at %d entries and is shorter", firm, size)
		}
	}
	return nil
}

// firmLog is the tree of one firm's log while its entries are read.
type firmLog struct {
	*audit
	firm     events.ID
	last     int64
	frontier events.Frontier
	broken   bool // an entry is missing: what follows has no root to compare
	signed   map[events.ID]map[int64]events.Hash
}

func (g *firmLog) grow(seq int64, leaf events.Hash) {
	if seq != g.last+1 && !g.broken {
		g.broken = true
		g.report.fault("firm %s: entry %d of its log is missing", g.firm, g.last+1)
	}
	g.last = seq
	marks := g.signed[g.firm]
	if !g.broken {
		g.frontier = g.frontier.Grow(seq-1, leaf)
		if root, marked := marks[seq]; marked && root != g.frontier.Root() {
			g.report.fault("firm %s: its log is not what was signed at %d entries", g.firm, seq)
		}
	}
	delete(marks, seq)
}

// firmCheckpoints are the roots that were signed, by firm and size.
func (a *audit) firmCheckpoints(ctx context.Context) (map[events.ID]map[int64]events.Hash, error) {
	rows, err := a.tx.Query(ctx, selectFirmCheckpoints)
	if err != nil {
		return nil, err
	}
	all := map[events.ID]map[int64]events.Hash{}
	var firm events.ID
	var size int64
	var frontier, text []byte
	_, err = pgx.ForEachRow(rows, []any{(*[16]byte)(&firm), &size, &frontier, &text}, func() error {
		a.report.FirmCheckpoints++
		signed, err := proof.Open(text, a.keys...)
		if err != nil {
			a.report.fault("firm %s: the checkpoint of its log at %d entries: %s", firm, size, unsigned(err))
			return nil
		}
		if signed.Size != size || signed.Root != rootOf(frontier) {
			a.report.fault("firm %s: the checkpoint of its log at %d entries was signed over something else", firm, size)
			return nil
		}
		if all[firm] == nil {
			all[firm] = map[int64]events.Hash{}
		}
		all[firm][size] = signed.Root
		return nil
	})
	return all, err
}
