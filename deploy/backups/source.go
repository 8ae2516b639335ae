package backups

import (
	"bufio"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgaudit"
	"relevel/events/pgdb"
)

const (
	headsName  = "heads"
	photosName = "photos"
)

// Source is a server's stores, which go on working meanwhile.
type Source struct {
	DSN     string         // the database, as the role relevel_backup
	Cluster string         // the private Postgres as its superuser; "" where it is not ours
	Objects events.Objects // where photos are
	Program string         // the version of relevel
	Secrets []string       // files and folders to copy beside: keys; usually none
	Tell    func(string)   // is told how it goes; may be nil
	Warn    func(string)   // is told what somebody ought to look at; may be nil
}

func (s Source) tell(format string, args ...any) {
	if s.Tell != nil {
		s.Tell(fmt.Sprintf(format, args...))
	}
}

func (s Source) warn(format string, args ...any) {
	if s.Warn != nil {
		s.Warn(fmt.Sprintf(format, args...))
	}
}

// snapshot is the database at one moment.
type snapshot struct {
	conn *pgx.Conn
	tx   pgx.Tx
	id   string // by which pg_dump sees the same
	m    Manifest
}

// look begins to see the database as it is now, and counts what is there.
func (s Source) look(ctx context.Context) (*snapshot, error) {
	conn, err := pgdb.Connect(ctx, s.DSN)
	if err != nil {
		return nil, fmt.Errorf("connect to the database as %s: %w", pgdb.Backup, err)
	}
	look := &snapshot{conn: conn, m: Manifest{Program: s.Program}}
	if err := look.begin(ctx); err != nil {
		look.end(ctx)
		return nil, fmt.Errorf("look at the database: %w", err)
	}
	return look, nil
}

func (l *snapshot) begin(ctx context.Context) (err error) {
	// A dump takes as long as it takes, and the snapshot has to last. It goes into files as
	// it is read, so it is not run again by itself where it ends early: the next backup is.
	if _, err = l.conn.Exec(ctx, `SET statement_timeout = 0; SET idle_in_transaction_session_timeout = 0`, pgx.QueryExecModeSimpleProtocol); err != nil {
		return err
	}
	if l.tx, err = l.conn.BeginTx(ctx, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}); err != nil {
		return err
	}
	var free bool
	err = l.tx.QueryRow(ctx, `SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = current_user`).Scan(&free)
	if err == nil && !free {
		return fmt.Errorf("its role sees one firm at a time: use %s, with BYPASSRLS, as relevel migrate --prepare makes it", pgdb.Backup)
	}
	if err != nil {
		return err
	}
	var number int
	err = l.tx.QueryRow(ctx, `SELECT pg_export_snapshot(), now(), current_setting('server_version_num')::int,
		(SELECT version FROM schema_migrations),
		(SELECT count(*) FROM firm), (SELECT count(*) FROM head), (SELECT coalesce(sum(seq), 0) FROM head),
		(SELECT count(*) FROM photo WHERE state <> 'received'), (SELECT coalesce(sum(bytes), 0) FROM photo WHERE state <> 'received')`).
		Scan(&l.id, &l.m.MadeAt, &number, &l.m.Schema, &l.m.Firms, &l.m.Jobs, &l.m.Events, &l.m.Photos, &l.m.Bytes)
	l.m.Postgres = number / 10000
	return err
}

func (l *snapshot) end(ctx context.Context) {
	if l.conn != nil {
		l.conn.Close(context.WithoutCancel(ctx))
		l.conn = nil
	}
}

// writeHeads lists every job's head.
func (l *snapshot) writeHeads(ctx context.Context, folder string) error {
	var firm, job events.ID
	var seq int64
	var root []byte
	return l.write(ctx, filepath.Join(folder, headsName), `SELECT firm, job, seq, root FROM head ORDER BY firm, job`,
		[]any{(*[16]byte)(&firm), (*[16]byte)(&job), &seq, &root},
		func() string { return fmt.Sprintf("%s %s %d %x", firm, job, seq, root) })
}

// writePhotos lists what the ledger calls kept.
func (l *snapshot) writePhotos(ctx context.Context, folder string) error {
	var firm events.ID
	var sum []byte
	var n int64
	var media string
	return l.write(ctx, filepath.Join(folder, photosName), `SELECT firm, sha256, bytes, media_type FROM photo WHERE state <> 'received' ORDER BY firm, sha256`,
		[]any{(*[16]byte)(&firm), &sum, &n, &media},
		func() string { return fmt.Sprintf("%s %x %d %s", firm, sum, n, media) })
}

// keptSince lists what the ledger calls kept, or verified again, since some time.
func keptSince(ctx context.Context, q interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
}, since time.Time) ([]events.Kept, error) {
	rows, err := q.Query(ctx, `SELECT firm, sha256, bytes, media_type FROM photo WHERE state <> 'received' AND at >= $1`, since)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (k events.Kept, err error) {
		var sum []byte
		err = row.Scan((*[16]byte)(&k.Firm), &sum, &k.Bytes, &k.Media)
		copy(k.SHA256[:], sum)
		return k, err
	})
}

// write puts a query's rows into a file, a line each.
func (l *snapshot) write(ctx context.Context, path, sql string, into []any, line func() string) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer f.Close()
	w := bufio.NewWriter(f)
	rows, err := l.tx.Query(ctx, sql)
	if err != nil {
		return err
	}
	_, err = pgx.ForEachRow(rows, into, func() error {
		_, err := fmt.Fprintln(w, line())
		return err
	})
	return errors.Join(err, w.Flush(), f.Close())
}

// readHeads reads the list of heads of a backup.
func readHeads(folder string) (heads []pgaudit.Head, err error) {
	err = readLines(filepath.Join(folder, headsName), 4, func(words []string) error {
		var h pgaudit.Head
		var errs [4]error
		h.Firm, errs[0] = events.ParseID(words[0])
		h.Job, errs[1] = events.ParseID(words[1])
		h.Seq, errs[2] = strconv.ParseInt(words[2], 10, 64)
		root, err := hex.DecodeString(words[3])
		copy(h.Root[:], root)
		errs[3] = err
		heads = append(heads, h)
		return errors.Join(errs[:]...)
	})
	return heads, err
}

// readPhotos reads the list of photos of a backup.
func readPhotos(folder string) (photos []events.Kept, err error) {
	err = readLines(filepath.Join(folder, photosName), 4, func(words []string) error {
		k := events.Kept{Media: words[3]}
		var errs [3]error
		k.Firm, errs[0] = events.ParseID(words[0])
		k.SHA256, errs[1] = events.ParseDigest(words[1])
		k.Bytes, errs[2] = strconv.ParseInt(words[2], 10, 64)
		photos = append(photos, k)
		return errors.Join(errs[:]...)
	})
	return photos, err
}

func readLines(path string, words int, take func(words []string) error) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	r := bufio.NewReader(f)
	for n := 1; ; n++ {
		line, err := r.ReadString('\n')
		if err == io.EOF && line == "" {
			return nil
		}
		if err != nil {
			return err
		}
		fields := strings.Fields(line)
		if len(fields) != words {
			return fmt.Errorf("%s: line %d is none of ours", path, n)
		}
		if err := take(fields); err != nil {
			return fmt.Errorf("%s: line %d: %w", path, n, err)
		}
	}
}

// since is how many seconds have passed, for a manifest.
func since(began time.Time) float64 { return time.Since(began).Round(time.Millisecond).Seconds() }
