package pglog

import (
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
)

// flush is one statement that appends to jobs of one firm. It moves each job's
// head from the number it is supposed to have, and stores the events of those
// jobs whose head had it; the others are left as they were.
//
// Lists are sent as arrays, one for each column: COPY is not possible into
// tables with row security.
type flush struct {
	firm events.ID
	body bodyFunc

	// heads
	jobs      [][16]byte
	was, seqs []int64
	roots     [][]byte
	frontiers [][]byte

	// events
	of          [][16]byte // the job of each
	numbers     []int64
	ids         [][16]byte
	kinds       []string
	versions    []int32
	recorded    []time.Time
	leaves      [][]byte
	salts, raws [][]byte
	bodies      []*string
}

const flushStatement = `
WITH moved AS (
    UPDATE head SET seq = n.seq, root = n.root, frontier = n.frontier
    FROM unnest($2::uuid[], $3::bigint[], $4::bigint[], $5::bytea[], $6::bytea[])
        AS n (job, was, seq, root, frontier)
    WHERE head.firm = $1 AND head.job = n.job AND head.seq = n.was
    RETURNING head.job
), stored AS (
    INSERT INTO event (firm, job, seq, id, kind, v, recorded_at, leaf)
    SELECT $1, n.job, n.seq, n.id, n.kind, n.v, n.recorded_at, n.leaf
    FROM unnest($7::uuid[], $8::bigint[], $9::uuid[], $10::text[], $11::int[], $12::timestamptz[], $13::bytea[])
        AS n (job, seq, id, kind, v, recorded_at, leaf)
    JOIN moved ON moved.job = n.job
), kept AS (
    INSERT INTO event_bytes (firm, job, seq, salt, bytes, body)
    SELECT $1, n.job, n.seq, n.salt, n.bytes, n.body::jsonb
    FROM unnest($7::uuid[], $8::bigint[], $14::bytea[], $15::bytea[], $16::text[])
        AS n (job, seq, salt, bytes, body)
    JOIN moved ON moved.job = n.job
)
SELECT job FROM moved`

// oneStatement is flushStatement for one event of one job, which most flushes of a quiet
// server are: without lists to take apart it takes four fifths of the time.
const oneStatement = `
WITH moved AS (
    UPDATE head SET seq = $4, root = $5, frontier = $6
    WHERE firm = $1 AND job = $2 AND seq = $3
    RETURNING job
), stored AS (
    INSERT INTO event (firm, job, seq, id, kind, v, recorded_at, leaf)
    SELECT $1, job, $4, $7, $8, $9, $10, $11
    FROM moved
), kept AS (
    INSERT INTO event_bytes (firm, job, seq, salt, bytes, body)
    SELECT $1, job, $4, $12, $13, $14::jsonb
    FROM moved
)
SELECT job FROM moved`

// add takes one job's new events. A job may be added once.
func (f *flush) add(job events.ID, was int64, a events.Arranged) {
	head := a.Receipt.Head
	f.jobs = append(f.jobs, job)
	f.was = append(f.was, was)
	f.seqs = append(f.seqs, head.Seq)
	f.roots = append(f.roots, head.Root[:])
	f.frontiers = append(f.frontiers, joinHashes(head.Frontier))
	for _, e := range a.New {
		f.of = append(f.of, job)
		f.numbers = append(f.numbers, e.Seq)
		f.ids = append(f.ids, e.ID)
		f.kinds = append(f.kinds, string(e.Kind))
		f.versions = append(f.versions, int32(e.V))
		f.recorded = append(f.recorded, e.RecordedAt)
		f.leaves = append(f.leaves, e.Leaf[:])
		f.salts = append(f.salts, e.Salt)
		f.raws = append(f.raws, e.Raw)
		f.bodies = append(f.bodies, f.body(e.Body))
	}
}

// queue puts the statement into a batch; moved takes the jobs whose head it
// moved. What a try before moved was rolled back, and another append may have come
// since: none of it counts.
func (f *flush) queue(b *pgx.Batch, moved *[]events.ID) {
	*moved = nil
	f.send(b).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			var job events.ID
			if err := rows.Scan((*[16]byte)(&job)); err != nil {
				return err
			}
			*moved = append(*moved, job)
		}
		return rows.Err()
	})
}

func (f *flush) send(b *pgx.Batch) *pgx.QueuedQuery {
	if len(f.ids) == 1 {
		return b.Queue(oneStatement, [16]byte(f.firm), f.jobs[0], f.was[0], f.seqs[0], f.roots[0], f.frontiers[0],
			f.ids[0], f.kinds[0], f.versions[0], f.recorded[0], f.leaves[0],
			f.salts[0], f.raws[0], f.bodies[0])
	}
	return b.Queue(flushStatement, [16]byte(f.firm),
		f.jobs, f.was, f.seqs, f.roots, f.frontiers,
		f.of, f.numbers, f.ids, f.kinds, f.versions, f.recorded, f.leaves,
		f.salts, f.raws, f.bodies)
}
