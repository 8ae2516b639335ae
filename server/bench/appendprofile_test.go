//go:build bench

package bench

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/pprof"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// profiled is how long appends go on for each figure.
const profiled = 10 * time.Second

// TestAppendProfile prints where an append's time goes: the statements that the program
// sends for it and for what it does behind it, what each of them and its plan take, what
// goes into the journal, and what the program does with its own time and memory.
// `make append-profile` runs it.
func TestAppendProfile(t *testing.T) {
	s := serve(t, "")
	s.countStatements()
	var all []*job
	for range benchJobs {
		all = append(all, s.newJob(t))
	}
	for _, clients := range []int{1, 8, 32} {
		s.settled()
		s.profileAppends(all, clients)
	}
	s.goProfile("allocs", "allocs?seconds=10", "-sample_index=alloc_space", all)
	s.goProfile("cpu", "profile?seconds=10", "-sample_index=cpu", all)
	profileLocks(t)
}

// countStatements starts the program again with Postgres's own counting of statements,
// which is part of the same package.
func (s *served) countStatements() {
	s.execute(`ALTER SYSTEM SET shared_preload_libraries = 'pg_stat_statements'`)
	s.stop()
	s.start()
	s.execute(
		`ALTER SYSTEM SET pg_stat_statements.track = 'all'`,
		`ALTER SYSTEM SET pg_stat_statements.track_planning = on`,
		`ALTER SYSTEM SET track_wal_io_timing = on`,
		`SELECT pg_reload_conf()`,
		`CREATE EXTENSION pg_stat_statements`,
		`CREATE EXTENSION pg_walinspect`)
}

// profileAppends has so many clients append for a while, and prints what the counters say.
func (s *served) profileAppends(all []*job, clients int) {
	s.execute(`CHECKPOINT`, `SELECT pg_stat_statements_reset()`, `SELECT pg_stat_reset_shared('wal')`)
	admin := s.admin()
	from := ask[string](s.t, admin, `SELECT pg_current_wal_insert_lsn()::text`)
	before, appends := s.spent(), 0
	r := forAWhile(s.t, profiled, clients, func(n int) error { return s.read(all[n%len(all)]) })
	appends = int(r.perSecond * profiled.Seconds())
	s.settled()
	used := s.spent().minus(before)
	fmt.Printf("\n== %d clients, %d jobs of one firm: %.0f appends/s, p50 %v p99 %v\n", clients, len(all), r.perSecond, short(r.p50), short(r.p99))
	fmt.Printf("   per append, with all that follows behind it: %v of a processor in the program, %v in Postgres\n",
		short(used.program/time.Duration(appends)), short(used.postgres/time.Duration(appends)))
	printStatements(s.t, admin, appends)
	printJournal(s.t, admin, from, appends)
}

// printStatements prints the statements that took longest in all.
func printStatements(t *testing.T, admin *pgx.Conn, appends int) {
	rows, err := admin.Query(t.Context(), `
		SELECT calls, mean_exec_time, mean_plan_time, plans, rows, wal_bytes::float8, wal_fpi, shared_blks_hit, shared_blks_dirtied,
			left(regexp_replace(query, '\s+', ' ', 'g'), 110)
		FROM pg_stat_statements JOIN pg_roles ON pg_roles.oid = userid
		WHERE rolname LIKE 'relevel%'
		ORDER BY total_exec_time + total_plan_time DESC LIMIT 18`)
	must(t, err)
	fmt.Println("   calls/append  mean ms  plan ms  plans%  rows/call  WAL B/call  FPI/call  hits/call  dirtied/call  statement")
	var calls, plans, rowsOf, fpi, hit, dirtied int64
	var exec, plan, wal float64
	var query string
	_, err = pgx.ForEachRow(rows, []any{&calls, &exec, &plan, &plans, &rowsOf, &wal, &fpi, &hit, &dirtied, &query}, func() error {
		n := float64(calls)
		fmt.Printf("   %12.3f %8.3f %8.3f %6.0f%% %10.1f %11.0f %9.3f %10.1f %13.2f  %s\n", n/float64(appends), exec, plan, 100*float64(plans)/n,
			float64(rowsOf)/n, wal/n, float64(fpi)/n, float64(hit)/n, float64(dirtied)/n, query)
		return nil
	})
	must(t, err)
}

// printJournal prints what went into the journal since a point of it, and how much of
// that is whole pages, written because a checkpoint came before.
func printJournal(t *testing.T, admin *pgx.Conn, from string, appends int) {
	n := float64(appends)
	var records, pages, size, written, synced float64
	var syncTime float64
	must(t, admin.QueryRow(t.Context(), `SELECT wal_records, wal_fpi, wal_bytes::float8, wal_write, wal_sync, wal_sync_time FROM pg_stat_wal`).
		Scan(&records, &pages, &size, &written, &synced, &syncTime))
	fmt.Printf("   journal per append: %.1f records, %.3f whole pages, %.0f bytes, %.3f writes, %.3f syncs of %.3f ms each\n",
		records/n, pages/n, size/n, written/n, synced/n, syncTime/max(synced, 1))
	rows, err := admin.Query(t.Context(), `
		SELECT "resource_manager/record_type", count, record_size, fpi_size
		FROM pg_get_wal_stats($1::pg_lsn, pg_current_wal_flush_lsn(), true)
		WHERE count > 0 ORDER BY combined_size DESC LIMIT 12`, from)
	must(t, err)
	var kind string
	var count, record, page int64
	_, err = pgx.ForEachRow(rows, []any{&kind, &count, &record, &page}, func() error {
		fmt.Printf("      %-32s %6.2f records/append %7.0f B/append, whole pages %7.0f B/append\n", kind, float64(count)/n, float64(record)/n, float64(page)/n)
		return nil
	})
	must(t, err)
}

// goProfile has 8 clients append while the program makes a profile of itself, and prints
// where most of it is.
func (s *served) goProfile(name, path, index string, all []*job) {
	file := filepath.Join(s.t.TempDir(), name)
	done := make(chan error, 1)
	go func() { done <- fetch(s.private+"/debug/pprof/"+path, file) }()
	r := forAWhile(s.t, profiled, 8, func(n int) error { return s.read(all[n%len(all)]) })
	must(s.t, <-done)
	fmt.Printf("\n== %s of the program under 8 clients, %.0f appends/s\n", name, r.perSecond)
	printTop(s.t, file, index)
}

func fetch(url, file string) error {
	resp, err := http.Get(url)
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	data, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != http.StatusOK {
		return fmt.Errorf("%s: %s %w", url, resp.Status, err)
	}
	return os.WriteFile(file, data, 0o600)
}

// printTop prints a profile by what the functions come to with all that they call.
func printTop(t *testing.T, file, index string) {
	t.Helper()
	for _, order := range [][]string{{"-cum", "-nodecount=45"}, {"-nodecount=20"}} {
		args := append([]string{"tool", "pprof", "-top", index}, order...)
		out, err := exec.CommandContext(context.WithoutCancel(t.Context()), "go", append(args, file)...).Output()
		must(t, err)
		for line := range bytes.Lines(out) {
			if text := strings.TrimRight(string(line), "\n"); text != "" {
				fmt.Println("   " + text)
			}
		}
	}
}

// profileLocks prints where goroutines wait for each other while 8 clients append. The
// program does not measure that, so this server runs in the test's own process.
func profileLocks(t *testing.T) {
	s := start(t)
	var all []*job
	for range benchJobs {
		all = append(all, s.newJob(t))
	}
	runtime.SetMutexProfileFraction(1)
	defer runtime.SetMutexProfileFraction(0)
	r := forAWhile(t, profiled, 8, func(n int) error { return s.read(all[n%len(all)]) })
	file := filepath.Join(t.TempDir(), "mutex")
	f, err := os.Create(file)
	must(t, err)
	must(t, pprof.Lookup("mutex").WriteTo(f, 0))
	must(t, f.Close())
	fmt.Printf("\n== waits for locks, server and clients in one process, 8 clients, %.0f appends/s\n", r.perSecond)
	printTop(t, file, "-sample_index=delay")
}
