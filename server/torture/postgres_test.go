package torture_test

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
	"golang.org/x/sys/unix"

	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
)

// admin runs statements as the superuser, past the wire.
func (w *world) admin(statements ...string) {
	w.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), recovery)
	defer cancel()
	conn, err := pgx.Connect(ctx, w.db.DSN(localpg.Superuser))
	must(w.t, err)
	defer conn.Close(ctx)
	for _, sql := range statements {
		if _, err := conn.Exec(ctx, sql); err != nil {
			w.t.Fatalf("%s: %v", sql, err)
		}
	}
}

// limitConnections lets Postgres take few, so that they are soon all taken.
func (w *world) limitConnections() {
	w.admin(fmt.Sprintf("ALTER SYSTEM SET max_connections = %d", mostConns))
	w.endPostgres(syscall.SIGINT)
}

// endPostgres ends Postgres with a signal, and returns when another one is there.
func (w *world) endPostgres(how syscall.Signal) {
	w.t.Helper()
	was := w.db.Server.PID()
	must(w.t, syscall.Kill(was, how))
	w.within(recovery, "Postgres is there again", func() bool { return w.db.Server.PID() != was && w.postgresAnswers() })
}

func (w *world) postgresAnswers() bool {
	ctx, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	conn, err := pgx.Connect(ctx, w.db.DSN(localpg.Superuser))
	if err != nil {
		return false
	}
	conn.Close(ctx)
	return true
}

// takeConnections takes every connection that Postgres has to give, also those of the
// server, and returns how to give them back.
func (w *world) takeConnections() (giveBack func()) {
	ctx := context.Background()
	boss, err := pgx.Connect(ctx, w.db.DSN(localpg.Superuser))
	must(w.t, err)
	var taken []*pgx.Conn
	var ours []int32
	take := func() (theirs int, err error) {
		for {
			conn, err := pgx.Connect(ctx, w.db.DSN(pgdb.App))
			if err != nil {
				break
			}
			taken, ours = append(taken, conn), append(ours, int32(conn.PgConn().PID()))
		}
		err = boss.QueryRow(ctx, `
			SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity
			WHERE usename LIKE 'relevel%' AND NOT pid = ANY ($1)`, ours).Scan(&theirs)
		return theirs, err
	}
	for quiet := 0; quiet < 3; time.Sleep(50 * time.Millisecond) {
		theirs, err := take()
		must(w.t, err)
		if quiet++; theirs > 0 {
			quiet = 0
		}
	}
	// One that is just coming in has no name yet, and is long about it on a busy machine.
	over, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		for {
			select {
			case <-over:
				return
			case <-time.After(50 * time.Millisecond):
				take() // what cannot be taken now is the next time
			}
		}
	}()
	return func() {
		close(over)
		<-ended
		for _, conn := range append(taken, boss) {
			conn.Close(ctx)
		}
	}
}

// holdHeads locks the heads of all jobs, and returns how to let go.
func (w *world) holdHeads() (letGo func()) {
	ctx := context.Background()
	conn, err := pgx.Connect(ctx, w.db.DSN(localpg.Superuser))
	must(w.t, err)
	_, err = conn.Exec(ctx, `BEGIN; LOCK TABLE head IN EXCLUSIVE MODE`)
	must(w.t, err)
	return func() { conn.Close(ctx) }
}

// A disk that is full takes a part of what is written and no more. So does a file that
// must not grow beyond a size in the middle of a page, whoever the tests run as and
// whatever is mounted: Postgres then says 53100, as it does on a full disk.
const (
	page       = 8 << 10
	fewPages   = 96 << 10 // are left
	smallFile  = 64 << 10 // beyond what Postgres notes about itself
	walSegment = 16 << 20
)

// fillDisk lets no file of Postgres grow beyond a size, also of one that is started
// meanwhile. The returned function makes room again.
func (w *world) fillDisk(limit uint64) (makeRoom func()) {
	var was unix.Rlimit
	must(w.t, unix.Getrlimit(unix.RLIMIT_FSIZE, &was))
	full := unix.Rlimit{Cur: limit, Max: was.Max}
	must(w.t, unix.Setrlimit(unix.RLIMIT_FSIZE, &full)) // is handed down to a Postgres that is started
	w.eachPostgres(full)
	return func() {
		must(w.t, unix.Setrlimit(unix.RLIMIT_FSIZE, &was))
		w.eachPostgres(was)
	}
}

// eachPostgres sets the limit of all processes of Postgres, the first of them first:
// those that it starts then have it from there.
func (w *world) eachPostgres(limit unix.Rlimit) {
	first := w.db.Server.PID()
	limitFiles(first, limit)
	for range 2 { // one may have been under way
		for _, pid := range childrenOf(first) {
			limitFiles(pid, limit)
		}
	}
}

// limitFiles sets the limit of a process that belongs to another account. That takes the
// account itself: root need not be allowed to. One that has ended is no fault.
func limitFiles(pid int, limit unix.Rlimit) {
	var owner syscall.Stat_t
	if err := syscall.Stat(fmt.Sprintf("/proc/%d", pid), &owner); err != nil {
		return
	}
	size := strconv.FormatUint(limit.Cur, 10)
	if limit.Cur == unix.RLIM_INFINITY {
		size = "unlimited"
	}
	cmd := exec.Command("prlimit", "--pid", strconv.Itoa(pid), "--fsize="+size+":")
	if int(owner.Uid) != os.Geteuid() {
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: owner.Uid, Gid: owner.Gid}}
	}
	_ = cmd.Run()
}

func childrenOf(parent int) (pids []int) {
	stats, _ := filepath.Glob("/proc/[0-9]*/stat")
	for _, name := range stats {
		text, err := os.ReadFile(name)
		if err != nil {
			continue // it has ended
		}
		_, rest, _ := strings.Cut(string(text), ") ")
		fields := strings.Fields(rest) // state, parent, …
		if len(fields) > 1 && fields[1] == strconv.Itoa(parent) {
			pid, _ := strconv.Atoi(filepath.Base(filepath.Dir(name)))
			pids = append(pids, pid)
		}
	}
	return pids
}

// awaitPostgres waits for Postgres, and starts it where it was given up: as the
// program's own end and start again by the system would.
func (w *world) awaitPostgres() {
	w.t.Helper()
	w.within(recovery, "Postgres is there again", func() bool {
		if w.db.Server.Err() != nil {
			w.db.StartAgain()
		}
		return w.postgresAnswers()
	})
}

// growTable makes the table that grows most longer than a segment of the journal, so
// that a limit on files stops it and not the journal.
func (w *world) growTable() {
	w.t.Helper()
	if w.tableSize() > walSegment {
		return
	}
	filler := w.newID().String()
	w.admin(fmt.Sprintf(`
		INSERT INTO event_bytes (firm, job, seq, salt, bytes)
		SELECT '%s', '%s', n, decode(repeat('00', 16), 'hex'), convert_to(repeat('x', 1900), 'UTF8')
		FROM generate_series(1, %d) n`, filler, filler, (walSegment+(2<<20))/2000))
}

// tableSize is how long that table is, in bytes.
func (w *world) tableSize() (size uint64) {
	w.t.Helper()
	ctx := context.Background()
	conn, err := pgx.Connect(ctx, w.db.DSN(localpg.Superuser))
	must(w.t, err)
	defer conn.Close(ctx)
	must(w.t, conn.QueryRow(ctx, `SELECT pg_relation_size('event_bytes')`).Scan(&size))
	return size
}
