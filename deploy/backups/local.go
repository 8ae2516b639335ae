package backups

import (
	"archive/tar"
	"bufio"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
)

// recoveryPatience bounds how long the changes since a base take to be taken in.
const recoveryPatience = 12 * time.Hour

// Local restores into the folder of a private Postgres, which must not be there yet,
// with a database of this name in it. It comes into being beside its place, and gets
// its name when the database was held against what was signed; a folder that broke off
// is cleared at the next run.
func (r Restore) Local(ctx context.Context, dir, database string) (Restored, error) {
	if entries, err := os.ReadDir(dir); err == nil && len(entries) > 0 {
		return Restored{}, fmt.Errorf("%s holds data already and nothing of it is overwritten: move it away, or restore into another folder with --data", dir)
	}
	m, faults, err := r.choose()
	if err != nil {
		return Restored{}, err
	}
	work := dir + ".restoring"
	if err := os.RemoveAll(work); err != nil {
		return Restored{}, fmt.Errorf("clear a restore that broke off: %w", err)
	}
	done := Restored{Backup: m, Faults: faults}
	err = r.local(ctx, work, database, &done)
	os.Remove(work + ".lock")
	if err != nil {
		return done, errors.Join(err, os.RemoveAll(work))
	}
	if r.Check {
		return done, os.RemoveAll(work)
	}
	if err := os.Remove(dir); err != nil && !errors.Is(err, os.ErrNotExist) {
		return done, fmt.Errorf("replace the empty data folder: %w", err)
	}
	if err := errors.Join(os.Rename(work, dir), syncPath(filepath.Dir(dir))); err != nil {
		return done, fmt.Errorf("name the restored data folder: %w", err)
	}
	return done, nil
}

func (r Restore) local(ctx context.Context, work, database string, done *Restored) error {
	began := time.Now()
	m := done.Backup
	var wal walOutcome
	var err error
	if m.Kind == KindBase {
		if wal, err = r.unpackBase(m, work); err != nil {
			return err
		}
	}
	pg, err := localpg.Start(ctx, localpg.Config{Dir: work, Roles: pgdb.Roles(), Patience: recoveryPatience, Scratch: r.Check})
	if err != nil {
		return r.explain(err)
	}
	owner := pg.DSN(pgdb.Owner, database)
	err = r.fill(ctx, pg, database, m)
	if err == nil && m.Kind == KindBase {
		var lost []string
		lost, err = wal.check(work, r.Until)
		done.Faults = append(done.Faults, lost...)
	}
	done.Database = time.Since(began)
	if err == nil {
		err = r.finish(ctx, owner, done)
	}
	return errors.Join(err, pg.Stop())
}

// explain says in our words why Postgres did not come up from a base.
func (r Restore) explain(err error) error {
	if strings.Contains(err.Error(), "before configured recovery target was reached") {
		return fmt.Errorf("what was received ends before %s: leave --until out for all of it", r.Until.Format(time.RFC3339))
	}
	return fmt.Errorf("start the restored Postgres: %w", err)
}

// fill makes the roles, plays a dump, and takes from a base what was for restoring it.
func (r Restore) fill(ctx context.Context, pg *localpg.Server, database string, m Manifest) error {
	admin := pg.DSN(localpg.Superuser, "postgres")
	if m.Kind == KindDump {
		if err := pgdb.EnsureRoles(ctx, admin); err != nil {
			return err
		}
		if err := pgdb.EnsureDatabase(ctx, admin, database); err != nil {
			return err
		}
		return r.load(ctx, m, pg.DSN(pgdb.Owner, database))
	}
	conn, err := pgdb.Connect(ctx, admin)
	if err != nil {
		return fmt.Errorf("connect to the restored Postgres: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	for _, setting := range []string{"hot_standby", "restore_command", "recovery_target_time", "recovery_target_action"} {
		if _, err := conn.Exec(ctx, "ALTER SYSTEM RESET "+setting); err != nil {
			return fmt.Errorf("end the restore: %w", err)
		}
	}
	return nil
}

// unpackBase lays out a base as a data folder, with all WAL that follows it.
func (r Restore) unpackBase(m Manifest, work string) (walOutcome, error) {
	from := filepath.Join(r.Dir, m.Name)
	if err := os.MkdirAll(work, 0o700); err != nil {
		return walOutcome{}, fmt.Errorf("make the data folder: %w", err)
	}
	if err := unpack(filepath.Join(from, baseName), work); err != nil {
		return walOutcome{}, err
	}
	if err := unpack(filepath.Join(from, walName), filepath.Join(work, "pg_wal")); err != nil {
		return walOutcome{}, err
	}
	wal := walOutcome{}
	if m.WAL != "" {
		var err error
		if wal, err = r.layWAL(m, filepath.Join(work, "pg_wal")); err != nil {
			return wal, fmt.Errorf("lay out WAL: %w", err)
		}
	}
	return wal, r.tellRecovery(work)
}

// tellRecovery tells Postgres how to come up: from pg_wal alone, on a timeline of its
// own, so that what it does next is never taken for what the old one did. Nobody is let
// in before it got to the end.
func (r Restore) tellRecovery(work string) error {
	settings := "\n# Written by relevel restore.\nhot_standby = off\nrestore_command = 'false'\nsynchronous_standby_names = ''\n"
	if !r.Until.IsZero() {
		settings += fmt.Sprintf("recovery_target_time = '%s'\nrecovery_target_action = 'promote'\n", r.Until.UTC().Format("2006-01-02 15:04:05.999999+00"))
	}
	f, err := os.OpenFile(filepath.Join(work, "postgresql.auto.conf"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err == nil {
		_, err = f.WriteString(settings)
		err = errors.Join(err, f.Close(), os.WriteFile(filepath.Join(work, "recovery.signal"), nil, 0o600))
	}
	if err != nil {
		return fmt.Errorf("say how to recover: %w", err)
	}
	return nil
}

// unpack lays out a packed folder. A name that would leave it is refused.
func unpack(path, to string) error {
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("unpack the base: %w", err)
	}
	defer f.Close()
	root, err := os.OpenRoot(to)
	if err != nil {
		return fmt.Errorf("unpack the base: %w", err)
	}
	defer root.Close()
	packed, err := gzip.NewReader(bufio.NewReaderSize(f, 1<<20))
	if err != nil {
		return fmt.Errorf("unpack %s: %w", filepath.Base(path), err)
	}
	for r := tar.NewReader(packed); ; {
		h, err := r.Next()
		if err == io.EOF {
			return nil
		}
		if err == nil {
			err = unpackOne(root, h, r)
		}
		if err != nil {
			return fmt.Errorf("unpack %s: %w", filepath.Base(path), err)
		}
	}
}

func unpackOne(root *os.Root, h *tar.Header, body io.Reader) error {
	name := filepath.Clean(h.Name)
	switch h.Typeflag {
	case tar.TypeDir:
		return root.MkdirAll(name, 0o700)
	case tar.TypeReg:
	default:
		return fmt.Errorf("%s is neither a file nor a folder", h.Name)
	}
	if err := root.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return err
	}
	f, err := root.OpenFile(name, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(f, body)
	return errors.Join(err, f.Close())
}

// walOutcome is what was laid out of WAL.
type walOutcome struct {
	faults   []string
	received position // what was noted to have been received
}

// layWAL copies the segments from the base's first on into place. One that is damaged
// or missing ends it: nothing after it can be used.
func (r Restore) layWAL(m Manifest, to string) (w walOutcome, err error) {
	run := runOf(r.Dir, m.WAL)
	sums, err := run.sums()
	if err != nil {
		return w, err
	}
	complete, last, err := run.segments()
	if err != nil {
		return w, err
	}
	if w.received, err = run.received(); err != nil {
		return w, err
	}
	next := m.Start
	for ; slices.Contains(complete, next); next = following(next) {
		sum, err := copySegment(filepath.Join(run.path, next), filepath.Join(to, next))
		if err != nil {
			return w, err
		}
		if want, sealed := sums[next]; sealed && sum != want {
			w.faults = append(w.faults, fmt.Sprintf("WAL segment %s is not what was received: nothing after it can be restored", next))
			return w, os.Remove(filepath.Join(to, next))
		}
	}
	if last == next {
		_, err := copySegment(filepath.Join(run.path, last+partial), filepath.Join(to, last))
		return w, err
	}
	if len(complete) > 0 && next <= complete[len(complete)-1] || last > next {
		w.faults = append(w.faults, fmt.Sprintf("WAL segment %s is missing: nothing after it can be restored", next))
	}
	return w, nil
}

func copySegment(from, to string) (sum [32]byte, err error) {
	in, err := os.Open(from)
	if err != nil {
		return sum, err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return sum, err
	}
	_, err = io.Copy(out, in)
	if err := errors.Join(err, out.Close()); err != nil {
		return sum, err
	}
	sum, _, err = hashFile(to)
	return sum, err
}

// check compares how far Postgres came with what was received. The place where its
// new timeline began is where the changes ended.
func (w walOutcome) check(work string, until time.Time) ([]string, error) {
	if !until.IsZero() || w.received == 0 {
		return w.faults, nil
	}
	found, err := filepath.Glob(filepath.Join(work, "pg_wal", "*.history"))
	if err != nil || len(found) == 0 {
		return w.faults, fmt.Errorf("see how far the restore came: no history of it (%w)", err)
	}
	slices.Sort(found)
	text, err := os.ReadFile(found[len(found)-1])
	if err != nil {
		return w.faults, fmt.Errorf("see how far the restore came: %w", err)
	}
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	fields := strings.Fields(lines[len(lines)-1])
	if len(fields) < 2 {
		return w.faults, fmt.Errorf("see how far the restore came: %q", text)
	}
	came, err := parsePosition(fields[1])
	if err == nil && came < w.received {
		w.faults = append(w.faults, fmt.Sprintf("WAL was received up to %s and could be restored up to %s: what was committed between is lost", w.received, came))
	}
	return w.faults, err
}
