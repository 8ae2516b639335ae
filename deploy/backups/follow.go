package backups

import (
	"cmp"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
)

// Following says how a private Postgres is followed.
type Following struct {
	Every time.Duration // a base is made when the last is older
	Keep  int           // so many backups stay
	Again time.Duration // the pause after something failed; 0 is five seconds
	Look  time.Duration // new photos are looked for so often; 0 is ten seconds
}

const (
	noteEvery = time.Second
	lastNote  = 5 * time.Second
	// keptForUs is how much the server keeps for a backup that does not come, in its
	// data folder. What comes later finds a gap and begins anew with a base.
	keptForUs = "2GB"
)

// Follow receives every change of the private Postgres as it is written, and new photos
// some seconds later, until ctx ends. When no base is fresh it makes one. A server that
// goes away is waited for. With synchronous_standby_names = 'relevel_backup' set in the
// server no commit is answered before it was received here.
func (p *Place) Follow(ctx context.Context, s Source, f Following) error {
	f.Again, f.Look = cmp.Or(f.Again, 5*time.Second), cmp.Or(f.Look, 10*time.Second)
	for {
		err := p.follow(ctx, s, f)
		if ctx.Err() != nil {
			return nil
		}
		s.warn("not following: %v", err)
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(f.Again):
		}
	}
}

// follow goes on until something fails.
func (p *Place) follow(ctx context.Context, s Source, f Following) error {
	conn, err := pgdb.Connect(ctx, s.Cluster)
	if err != nil {
		return fmt.Errorf("connect to the private Postgres: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	c, err := identify(ctx, conn)
	if err != nil {
		return err
	}
	r, err := p.prepareRun(ctx, conn, c)
	if err != nil {
		return err
	}
	p.receiving = r.name
	ctx, stop := context.WithCancel(ctx)
	received := make(chan error, 1)
	folder := r.path
	go func() { received <- receive(ctx, s.Cluster, folder, p.slotName(), c.major) }()
	err = p.attend(ctx, s, f, conn, &r, received)
	stop()
	err = errors.Join(err, <-received)
	// What was written last is sealed and noted once the program has ended.
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), lastNote)
	defer cancel()
	return errors.Join(err, noteProgress(last, conn, &r, p.slotName()))
}

// receive runs pg_receivewal, which writes and syncs each change as it comes into a
// folder.
func receive(ctx context.Context, dsn, folder, slot string, major int) error {
	program, err := localpg.FindProgram("pg_receivewal", major)
	if err != nil {
		return err
	}
	address, env, err := forProgram(dsn)
	if err != nil {
		return err
	}
	err = program.Run(ctx, env, "--directory="+folder, "--slot="+slot, "--synchronous", "--no-loop",
		"--status-interval=1", "--no-password", "--dbname="+address)
	if ctx.Err() != nil {
		return nil // told to stop
	}
	if err == nil {
		err = errors.New("the server has ended")
	}
	return err
}

// attend seals what is complete, notes how far the rest has come, copies photos and
// makes bases, until receiving ends.
func (p *Place) attend(ctx context.Context, s Source, f Following, conn *pgx.Conn, r *walRun, received chan error) error {
	s.tell("following into %s", r.path)
	tick := time.NewTicker(noteEvery)
	defer tick.Stop()
	photos, bases := time.Unix(0, 0), time.Unix(0, 0)
	for {
		select {
		case <-ctx.Done():
			return nil
		case err := <-received:
			received <- nil
			return err
		case <-tick.C:
		}
		if err := noteProgress(ctx, conn, r, p.slotName()); err != nil {
			return err
		}
		if now := time.Now(); now.Sub(bases) > time.Minute {
			bases = now
			if err := p.baseWhenDue(ctx, s, f, r); err != nil {
				return err
			}
		}
		if now := time.Now(); now.Sub(photos) > f.Look {
			if err := p.followPhotos(ctx, s, photos); err != nil {
				return err
			}
			photos = now
		}
	}
}

func noteProgress(ctx context.Context, conn *pgx.Conn, r *walRun, name string) error {
	if err := r.seal(); err != nil {
		return fmt.Errorf("seal WAL: %w", err)
	}
	slot, err := findSlot(ctx, conn, name)
	if err != nil {
		return err
	}
	if slot == nil || slot.lost {
		return errors.New("the server no longer keeps what was not received")
	}
	return r.reached(slot)
}

func (p *Place) baseWhenDue(ctx context.Context, s Source, f Following, r *walRun) error {
	all, err := List(p.dir)
	if err != nil {
		s.warn("a backup is not as it was made: %v", err)
	}
	for _, m := range all {
		if m.Kind == KindBase && m.WAL == r.name && time.Since(m.MadeAt) < f.Every {
			return nil
		}
	}
	m, err := p.Base(ctx, s)
	if err != nil {
		return err
	}
	s.tell("base %s: %d MB in %.1f s", m.Name, m.Size()>>20, m.Seconds)
	_, err = p.Prune(ctx, f.Keep)
	return err
}

// followPhotos copies those that came, or were mended, since some time. A little more
// than that is looked at: entries may be committed later than they say.
func (p *Place) followPhotos(ctx context.Context, s Source, since time.Time) error {
	look, err := s.look(ctx)
	if err != nil {
		return err
	}
	defer look.end(ctx)
	photos, err := keptSince(ctx, look.tx, since.Add(-10*time.Minute))
	if err != nil {
		return fmt.Errorf("list new photos: %w", err)
	}
	c, err := copyPhotos(ctx, s.Objects, p.photos, photos, s.tell)
	for _, fault := range c.Faults {
		s.warn("%s", fault)
	}
	return err
}

// slot is what the server keeps for us.
type slot struct {
	at       position // up to here it was received
	inserted position // the server's own end: a record ends here
	lost     bool     // it kept too much, and gave up
}

// slotName is this folder's own: two that follow one server keep out of each other's way.
func (p *Place) slotName() string {
	sum := sha256.Sum256([]byte(p.dir))
	return fmt.Sprintf("relevel_backup_%x", sum[:4])
}

// findSlot returns nil where there is none.
func findSlot(ctx context.Context, conn *pgx.Conn, name string) (*slot, error) {
	var s slot
	var at, inserted string
	err := conn.QueryRow(ctx, `SELECT coalesce(restart_lsn, '0/0')::text, pg_current_wal_insert_lsn()::text, wal_status IS NOT DISTINCT FROM 'lost'
		FROM pg_replication_slots WHERE slot_name = $1`, name).Scan(&at, &inserted, &s.lost)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, nil
	}
	if err == nil {
		s.at, err = parsePosition(at)
	}
	if err == nil {
		s.inserted, err = parsePosition(inserted)
	}
	if err != nil {
		return nil, fmt.Errorf("look at what the server keeps for the backup: %w", err)
	}
	return &s, nil
}

// prepareRun goes on with the newest run where nothing was missed since, and begins one
// otherwise.
func (p *Place) prepareRun(ctx context.Context, conn *pgx.Conn, c cluster) (walRun, error) {
	s, err := findSlot(ctx, conn, p.slotName())
	if err != nil {
		return walRun{}, err
	}
	r, err := newestRun(p.dir, c)
	if err != nil {
		return r, err
	}
	if s != nil && !s.lost && r.name != "" {
		return r, nil
	}
	if s != nil {
		if _, err := conn.Exec(ctx, `SELECT pg_drop_replication_slot($1)`, p.slotName()); err != nil {
			return r, fmt.Errorf("begin to follow anew: %w", err)
		}
	}
	if err := bound(ctx, conn); err != nil {
		return r, err
	}
	if _, err := conn.Exec(ctx, `SELECT pg_create_physical_replication_slot($1, true)`, p.slotName()); err != nil {
		return r, fmt.Errorf("have the server keep what was not received: %w", err)
	}
	return newRun(p.dir, c, time.Now())
}

// bound has the server give up on a backup that does not come before its disk is full,
// unless whoever runs it has set a bound.
func bound(ctx context.Context, conn *pgx.Conn) error {
	var set string
	err := conn.QueryRow(ctx, `SHOW max_slot_wal_keep_size`).Scan(&set)
	if err == nil && set == "-1" {
		_, err = conn.Exec(ctx, `ALTER SYSTEM SET max_slot_wal_keep_size = '`+keptForUs+`'`)
		if err == nil {
			_, err = conn.Exec(ctx, `SELECT pg_reload_conf()`)
		}
	}
	if err != nil {
		return fmt.Errorf("bound what the server keeps for the backup: %w", err)
	}
	return nil
}
