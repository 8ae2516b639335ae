package backups

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
)

const (
	baseFolder = "base" // pg_basebackup takes an empty one alone
	baseName   = baseFolder + "/base.tar.gz"
	walName    = baseFolder + "/pg_wal.tar.gz"
)

// Base makes a backup of the whole private Postgres while it works. With what is
// received of its changes from then on, every moment after it can be had back.
func (p *Place) Base(ctx context.Context, s Source) (Manifest, error) {
	began := time.Now()
	part, err := p.begin(began)
	if err != nil {
		return Manifest{}, err
	}
	m, err := p.base(ctx, s, part)
	if err == nil {
		m.Seconds = since(began)
		m, err = p.finish(part, m)
	}
	if err != nil {
		return m, errors.Join(err, os.RemoveAll(part))
	}
	return m, nil
}

func (p *Place) base(ctx context.Context, s Source, part string) (Manifest, error) {
	// The heads come first: whatever the base is restored to has at least those.
	before, err := s.look(ctx)
	if err != nil {
		return Manifest{}, err
	}
	defer before.end(ctx)
	m := before.m
	m.Kind = KindBase
	if err := before.writeHeads(ctx, part); err != nil {
		return m, fmt.Errorf("list what the database holds: %w", err)
	}
	before.end(ctx)
	s.tell("database: %d events of %d jobs", m.Events, m.Jobs)
	if err := baseBackup(ctx, s.Cluster, part, m.Postgres); err != nil {
		return m, err
	}
	after, err := s.look(ctx)
	if err != nil {
		return m, err
	}
	defer after.end(ctx)
	if err := after.writePhotos(ctx, part); err != nil {
		return m, fmt.Errorf("list what the database holds: %w", err)
	}
	m.MadeAt, m.Photos, m.Bytes = after.m.MadeAt, after.m.Photos, after.m.Bytes
	after.end(ctx)
	if m.WAL, err = p.run(ctx, s.Cluster); err != nil {
		return m, err
	}
	if m.Start, err = startOf(part); err != nil {
		return m, err
	}
	return m, p.complete(ctx, s, part, &m)
}

// baseBackup copies the cluster, with the changes that came while it was copied, so
// that it can be restored by itself.
func baseBackup(ctx context.Context, cluster, part string, major int) error {
	program, err := localpg.FindProgram("pg_basebackup", major)
	if err != nil {
		return err
	}
	address, env, err := forProgram(cluster)
	if err != nil {
		return err
	}
	return program.Run(ctx, env, "--pgdata="+filepath.Join(part, baseFolder), "--format=tar", "--gzip", "--compress=1", "--wal-method=stream",
		"--checkpoint=fast", "--manifest-checksums=SHA256", "--no-password", "--dbname="+address)
}

// startOf reads from the list that pg_basebackup made the first segment of WAL that a
// base needs.
func startOf(folder string) (segment string, err error) {
	text, err := os.ReadFile(filepath.Join(folder, baseFolder, "backup_manifest"))
	if err != nil {
		return "", fmt.Errorf("read what pg_basebackup made: %w", err)
	}
	var list struct {
		Ranges []struct {
			Timeline int    `json:"Timeline"`
			Start    string `json:"Start-LSN"`
		} `json:"WAL-Ranges"`
	}
	if err := json.Unmarshal(text, &list); err != nil || len(list.Ranges) == 0 {
		return "", fmt.Errorf("read what pg_basebackup made: no range of WAL (%w)", err)
	}
	last := list.Ranges[len(list.Ranges)-1]
	at, err := parsePosition(last.Start)
	return at.segment(last.Timeline), err
}

// cluster is which private Postgres it is, and on which run of its history.
type cluster struct {
	system   string
	timeline int
	major    int
}

func identify(ctx context.Context, conn *pgx.Conn) (c cluster, err error) {
	err = conn.QueryRow(ctx, `SELECT system_identifier::text, timeline_id, current_setting('server_version_num')::int / 10000
		FROM pg_control_system(), pg_control_checkpoint()`).Scan(&c.system, &c.timeline, &c.major)
	if err != nil {
		return c, fmt.Errorf("ask which Postgres it is: %w", err)
	}
	return c, nil
}

// run names the run of WAL that is being received from a cluster, "" where none is.
func (p *Place) run(ctx context.Context, dsn string) (string, error) {
	conn, err := pgdb.Connect(ctx, dsn)
	if err != nil {
		return "", fmt.Errorf("connect to the private Postgres: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	c, err := identify(ctx, conn)
	if err != nil {
		return "", err
	}
	s, err := findSlot(ctx, conn, p.slotName())
	if err != nil || s == nil || s.lost {
		return "", err
	}
	r, err := newestRun(p.dir, c)
	return r.name, err
}
