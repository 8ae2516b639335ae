package pglog_test

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
)

const benchJobs = 32

// BenchmarkAppend compares appends of one event with the least one could do by
// hand: lock the job, count up, insert, commit, by bare pgx, on the same server
// with the same durable settings and as many connections as clients.
func BenchmarkAppend(b *testing.B) {
	d := pgtest.Own(b)
	for _, clients := range []int{1, 8, 32} {
		dsn := fmt.Sprintf("%s&pool_max_conns=%d", d.DSN(pgdb.App), min(clients, 16))
		b.Run(fmt.Sprintf("Bare/%d", clients), func(b *testing.B) { benchBare(b, d, clients) })
		b.Run(fmt.Sprintf("Log/%d", clients), func(b *testing.B) { benchLog(b, dsn, clients) })
	}
}

func benchLog(b *testing.B, dsn string, clients int) {
	db, err := pgdb.Open(b.Context(), dsn)
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	log, maker, firm := pglog.New(db), eventstest.NewMaker(b), eventstest.NewFirm(b)
	jobs := make([]events.ID, benchJobs)
	for i := range jobs {
		jobs[i] = eventstest.NewFirm(b)
		if err := log.Create(b.Context(), firm, jobs[i]); err != nil {
			b.Fatal(err)
		}
		if _, err := log.Append(b.Context(), eventstest.BatchOf(firm, jobs[i], maker.Note(jobs[i]))); err != nil {
			b.Fatal(err)
		}
	}
	together(b, clients, func(ctx context.Context, n int64) error {
		job := jobs[n%benchJobs]
		_, err := log.Append(ctx, eventstest.BatchOf(firm, job, maker.Note(job)))
		return err
	})
}

func benchBare(b *testing.B, d *pgtest.DB, clients int) {
	config, err := pgxpool.ParseConfig(fmt.Sprintf("%s&pool_max_conns=%d", d.DSN(pgdb.Owner), clients))
	if err != nil {
		b.Fatal(err)
	}
	pool, err := pgxpool.NewWithConfig(b.Context(), config)
	if err != nil {
		b.Fatal(err)
	}
	defer pool.Close()
	_, err = pool.Exec(b.Context(), `
		DROP TABLE IF EXISTS bare_job, bare_event;
		CREATE TABLE bare_job (id int PRIMARY KEY, seq bigint NOT NULL);
		CREATE TABLE bare_event (job int, seq bigint, body bytea NOT NULL, PRIMARY KEY (job, seq));
		INSERT INTO bare_job SELECT n, 0 FROM generate_series(0, 31) n`)
	if err != nil {
		b.Fatal(err)
	}
	maker, job := eventstest.NewMaker(b), eventstest.NewFirm(b)
	together(b, clients, func(ctx context.Context, n int64) error {
		return bareAppend(ctx, pool, int(n%benchJobs), maker.Note(job).Raw)
	})
}

func bareAppend(ctx context.Context, pool *pgxpool.Pool, job int, raw []byte) error {
	return pgx.BeginFunc(ctx, pool, func(tx pgx.Tx) error {
		var seq int64
		if err := tx.QueryRow(ctx, `SELECT seq FROM bare_job WHERE id = $1 FOR UPDATE`, job).Scan(&seq); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `UPDATE bare_job SET seq = $2 WHERE id = $1`, job, seq+1); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `INSERT INTO bare_event (job, seq, body) VALUES ($1, $2, $3)`, job, seq+1, raw)
		return err
	})
}

// together runs b.N operations by a number of clients, each numbered once.
func together(b *testing.B, clients int, do func(ctx context.Context, n int64) error) {
	var next atomic.Int64
	var wg sync.WaitGroup
	b.ResetTimer()
	for range clients {
		wg.Go(func() {
			for n := next.Add(1); n <= int64(b.N); n = next.Add(1) {
				if err := do(b.Context(), n); err != nil {
					b.Error(err)
					return
				}
			}
		})
	}
	wg.Wait()
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "appends/s")
}

// BenchmarkAppendToLong shows whether an append costs more in a long log.
func BenchmarkAppendToLong(b *testing.B) {
	d := pgtest.Own(b)
	for _, length := range []int{100, 1_000, 10_000, 100_000} {
		b.Run(fmt.Sprint(length), func(b *testing.B) {
			log, maker, firm, job := pglog.New(d.App), eventstest.NewMaker(b), eventstest.NewFirm(b), eventstest.NewFirm(b)
			if err := log.Create(b.Context(), firm, job); err != nil {
				b.Fatal(err)
			}
			for done := 0; done < length; {
				n := min(events.MaxBatchEvents, length-done)
				if _, err := log.Append(b.Context(), eventstest.BatchOf(firm, job, maker.Notes(job, n)...)); err != nil {
					b.Fatal(err)
				}
				done += n
			}
			together(b, 1, func(ctx context.Context, _ int64) error {
				_, err := log.Append(ctx, eventstest.BatchOf(firm, job, maker.Note(job)))
				return err
			})
		})
	}
}
