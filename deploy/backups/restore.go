package backups

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/dirphotos"
	"relevel/events/pgaudit"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/levelling"
)

// Restore says what is brought back, and where photos go.
type Restore struct {
	Dir     string    // the folder of backups
	Name    string    // of one backup; "" is the one that reaches furthest
	Until   time.Time // the state of this moment; zero is the last that was received
	Objects events.Objects
	Check   bool // a trial: photos are read where they are and not copied, and no disk is waited for
	Tell    func(string)
}

// Restored says what came back.
type Restored struct {
	Backup Manifest
	Audit  pgaudit.Report
	Photos int64 // that are there, and were hashed on the way
	Bytes  int64
	Lost   int      // photos that the record calls kept and that are not there
	Faults []string // all that is not as it should be, for people

	Database time.Duration // how long it took to have the database back
	Checking time.Duration // to hold it against what was signed
	Copying  time.Duration // photos
}

func (r Restore) tell(format string, args ...any) {
	if r.Tell != nil {
		r.Tell(fmt.Sprintf(format, args...))
	}
}

// ErrDamagedBackup means that a backup is not what was written: nothing was restored.
var ErrDamagedBackup = errors.New("the backup is damaged")

// choose picks the backup and checks that its files are what was written.
func (r Restore) choose() (m Manifest, faults []string, err error) {
	all, broken := List(r.Dir)
	if broken != nil {
		if len(all) == 0 || r.Name != "" && strings.Contains(broken.Error(), r.Name) {
			return m, nil, fmt.Errorf("%w: %w", ErrDamagedBackup, broken)
		}
		faults = strings.Split(broken.Error(), "\n")
	}
	if m, err = r.pick(all); err != nil {
		return m, nil, err
	}
	if m.Schema > pgdb.Latest() {
		return m, nil, fmt.Errorf("the backup %s was made by a newer program, %s: restore it with that one or a later one", m.Name, m.Program)
	}
	r.tell("backup %s (%s): %d events of %d jobs, %d photos", m.Name, m.Kind, m.Events, m.Jobs, m.Photos)
	if changed := m.verify(filepath.Join(r.Dir, m.Name)); len(changed) > 0 {
		return m, nil, fmt.Errorf("%w: %s: take another with --backup", ErrDamagedBackup, strings.Join(changed, "; "))
	}
	return m, faults, nil
}

func (r Restore) pick(all []Manifest) (m Manifest, err error) {
	found := false
	var reached time.Time
	for _, one := range all {
		usable := r.Until.IsZero() || one.WAL != "" && !one.MadeAt.After(r.Until)
		if r.Name != "" && one.Name != r.Name || !usable {
			continue
		}
		if at := reach(r.Dir, one); !found || at.After(reached) || !r.Until.IsZero() {
			m, found, reached = one, true, at
		}
	}
	switch {
	case found:
		return m, nil
	case !r.Until.IsZero():
		return m, levelling.Bad("until", "no backup can be taken to that moment: it takes a base made before it, and WAL that was received since; relevel restore --list shows what there is")
	case r.Name != "":
		return m, levelling.Bad("backup", "there is none of this name: relevel restore --list names them")
	}
	return m, fmt.Errorf("%s: %w", r.Dir, ErrNone)
}

// reach is up to when a backup can take the database.
func reach(dir string, m Manifest) time.Time {
	if m.WAL == "" {
		return m.MadeAt
	}
	info, err := os.Stat(filepath.Join(runOf(dir, m.WAL).path, receivedName))
	if err != nil || info.ModTime().Before(m.MadeAt) {
		return m.MadeAt
	}
	return info.ModTime()
}

// Own restores a dump into a database of one's own, which has to be empty, as its
// owner. The roles have to be there.
func (r Restore) Own(ctx context.Context, owner string) (Restored, error) {
	if !r.Until.IsZero() {
		return Restored{}, levelling.Bad("until", "a moment can be had back only in a data folder of its own, from a base and WAL")
	}
	m, faults, err := r.choose()
	if err != nil {
		return Restored{}, err
	}
	if m.Kind != KindDump {
		return Restored{}, levelling.Bad("backup", "this one is of a whole private Postgres: restore it into a data folder, or name a dump")
	}
	began := time.Now()
	if err := refuseFilled(ctx, owner); err != nil {
		return Restored{}, err
	}
	if err := r.load(ctx, m, owner); err != nil {
		return Restored{}, err
	}
	done := Restored{Backup: m, Faults: faults, Database: time.Since(began)}
	return done, r.finish(ctx, owner, &done)
}

// refuseFilled keeps a restore out of a database that holds anything.
func refuseFilled(ctx context.Context, owner string) error {
	conn, err := pgdb.Connect(ctx, owner)
	if err != nil {
		return fmt.Errorf("connect to the database to restore into: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var tables int
	err = conn.QueryRow(ctx, `SELECT count(*) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
		WHERE n.nspname = 'public' AND c.relkind IN ('r', 'p', 'v', 'm', 'S')`).Scan(&tables)
	if err != nil {
		return fmt.Errorf("look whether the database is empty: %w", err)
	}
	if tables > 0 {
		return fmt.Errorf("the database holds %d tables already and nothing of it is overwritten: name an empty one, which is made where RELEVEL_ADMIN_DATABASE_URL is set", tables)
	}
	return nil
}

// load plays a dump into an empty database, all of it or nothing.
func (r Restore) load(ctx context.Context, m Manifest, owner string) error {
	program, err := localpg.FindProgram("pg_restore", m.Postgres)
	if err != nil {
		return err
	}
	address, env, err := forProgram(owner)
	if err != nil {
		return err
	}
	if err := program.Run(ctx, env, "--single-transaction", "--exit-on-error", "--no-password", "--dbname="+address, filepath.Join(r.Dir, m.Name, dumpName)); err != nil {
		return err
	}
	conn, err := pgdb.Connect(ctx, owner)
	if err != nil {
		return fmt.Errorf("connect to the restored database: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	// A dump has no statistics, without which the first hours are slow.
	if _, err := conn.Exec(ctx, `ANALYZE`); err != nil {
		return fmt.Errorf("analyse the restored database: %w", err)
	}
	return nil
}

// finish brings the schema up to date, holds the database against what was signed and
// known, and brings the photos back.
func (r Restore) finish(ctx context.Context, owner string, done *Restored) error {
	if err := pgdb.Migrate(ctx, owner); err != nil {
		return err
	}
	conn, err := pgdb.Connect(ctx, owner)
	if err != nil {
		return fmt.Errorf("connect to the restored database: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	heads, err := readHeads(filepath.Join(r.Dir, done.Backup.Name))
	if err != nil {
		return err
	}
	began := time.Now()
	done.Audit, err = pgaudit.Run(ctx, conn, pgaudit.Check{Known: heads, Tell: func(n int64) { r.tell("records: %d checked", n) }})
	if err != nil {
		return err
	}
	done.Checking = time.Since(began)
	done.Faults = append(done.Faults, done.Audit.Faults...)
	return r.photos(ctx, conn, done)
}

// photos brings back what the restored ledger calls kept. What is lost is said to be:
// a phone that still has it sends it again.
func (r Restore) photos(ctx context.Context, conn *pgx.Conn, done *Restored) error {
	began := time.Now()
	wanted, err := keptSince(ctx, conn, time.Unix(0, 0))
	if err != nil {
		return fmt.Errorf("list the photos of the record: %w", err)
	}
	from, err := dirphotos.Look(filepath.Join(r.Dir, photoFolder))
	if err != nil {
		return err
	}
	defer from.Close()
	var c copied
	if r.Check {
		c, err = checkPhotos(ctx, from, wanted, r.tell)
	} else {
		c, err = copyPhotos(ctx, from, r.Objects, wanted, r.tell)
	}
	if err != nil {
		return err
	}
	done.Photos, done.Bytes, done.Lost, done.Copying = c.Photos, c.Bytes, len(c.Lost), time.Since(began)
	done.Faults = append(done.Faults, c.Faults...)
	for _, k := range c.Lost {
		_, err := conn.Exec(ctx, `UPDATE photo SET state = 'received', reason = 'it was not in the backup' WHERE firm = $1 AND sha256 = $2`,
			[16]byte(k.Firm), k.SHA256[:])
		if err != nil {
			return fmt.Errorf("note that a photo is lost: %w", err)
		}
	}
	return nil
}
