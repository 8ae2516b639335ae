package doctor

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"relevel/events"
	"relevel/events/pgdb"
)

const (
	// photoPatience is how long a photo may wait to be durable: the goal is half an
	// hour, and what lies in a folder is at once.
	photoPatience = time.Hour
	// taskPatience is how long a task may be due before nobody seems to work at them.
	taskPatience = time.Hour
	// firmsAtMost bounds how many firms are asked one by one.
	firmsAtMost = 500
)

// records are what the firms' rows say of how things go.
type records struct {
	firms, of            int // looked at, and there are
	faults, waiting      int
	dead, late           int
	notes                [][]byte // the last checkpoint of each firm
	reading, readingTask error
}

func (v *visit) recordChecks() []Check {
	if v.Database.App == "" || v.Database.Worker == "" {
		return nil
	}
	return []Check{
		{"Records", "signed", v.recorded(records.signed)},
		{"Records", "photos", v.recorded(records.photos)},
		{"Records", "tasks", v.recorded(records.tasks)},
	}
}

// recorded reads the records of all firms once.
func (v *visit) recorded(say func(records) []Finding) func(context.Context) []Finding {
	return v.quietly(func(ctx context.Context, _ *pgxpool.Pool) []Finding {
		worker, err := v.open(ctx, v.Database.Worker)
		if err != nil || worker.Ping(ctx) != nil {
			return nil
		}
		read := v.known()
		if read == nil {
			app, err := v.open(ctx, v.Database.App)
			if err != nil {
				return nil
			}
			fresh := readRecords(ctx, app, worker.Pool(), v.Now())
			read = &fresh
			v.mu.Lock()
			v.records = read
			v.mu.Unlock()
		}
		return say(*read)
	})
}

// known are the records that were read, nil before.
func (v *visit) known() *records {
	v.mu.Lock()
	defer v.mu.Unlock()
	return v.records
}

func readRecords(ctx context.Context, app *pgdb.DB, worker *pgxpool.Pool, now time.Time) (r records) {
	r.readingTask = worker.QueryRow(ctx, `SELECT count(*) FILTER (WHERE dead), count(*) FILTER (WHERE NOT dead AND due_at < $1) FROM task`, now.Add(-taskPatience)).Scan(&r.dead, &r.late)
	rows, err := worker.Query(ctx, `SELECT DISTINCT firm FROM head`)
	if err != nil {
		r.reading = err
		return r
	}
	firms, err := pgx.CollectRows(rows, pgx.RowTo[[16]byte])
	r.reading, r.of = err, len(firms)
	for _, firm := range firms[:min(len(firms), firmsAtMost)] {
		if err := r.readFirm(ctx, app, firm, now); err != nil {
			r.reading = err
			return r
		}
		r.firms++
	}
	return r
}

func (r *records) readFirm(ctx context.Context, app *pgdb.DB, firm events.ID, now time.Time) error {
	var faults, waiting int
	var note []byte
	err := app.WithFirm(ctx, firm, func(tx pgx.Tx) error {
		return tx.QueryRow(ctx, `SELECT (SELECT count(*) FROM checkpoint_fault WHERE firm = $1),
			(SELECT count(*) FROM photo WHERE firm = $1 AND state <> 'durable' AND at < $2),
			(SELECT note FROM checkpoint WHERE firm = $1 ORDER BY signed_at DESC LIMIT 1)`, firm, now.Add(-photoPatience)).Scan(&faults, &waiting, &note)
	})
	r.faults, r.waiting = r.faults+faults, r.waiting+waiting
	if note != nil {
		r.notes = append(r.notes, note)
	}
	return err
}

// extent says how many firms were looked at, where it was not all.
func (r records) extent() string {
	if r.firms < r.of {
		return fmt.Sprintf(" (in %d of %d firms)", r.firms, r.of)
	}
	return ""
}

func (r records) signed() []Finding {
	switch {
	case r.reading != nil:
		return failed(r.reading)
	case r.faults > 0:
		return wrong("%d logs no longer agree with what was signed of them%s", r.faults, r.extent()).
			cure("change nothing: the job's page says which and since when; compare with a backup from before that time, and with the notes that phones held back")
	case r.of == 0:
		return ok("no job yet")
	}
	return ok("no log disagrees with what was signed of it%s", r.extent())
}

func (r records) photos() []Finding {
	switch {
	case r.reading != nil:
		return nil
	case r.waiting > 0:
		return look("%d photos have not been read back for more than an hour%s", r.waiting, r.extent()).
			cure("see that a server runs with RELEVEL_WORKER_DATABASE_URL and reaches the photos, and what it logs of them")
	}
	return ok("every photo that arrived more than an hour ago is durable%s", r.extent())
}

func (r records) tasks() []Finding {
	switch {
	case r.readingTask != nil:
		return failed(r.readingTask)
	case r.late > 0:
		return look("%d have been due for more than an hour", r.late).cure("see that a server runs with RELEVEL_WORKER_DATABASE_URL, and what it logs")
	case r.dead > 0:
		return look("%d were given up", r.dead).cure("the office's page of hooks and each job's page of packs say why, and try again")
	}
	return ok("none is late, and none was given up")
}
