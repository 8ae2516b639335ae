package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"path/filepath"

	"relevel/deploy/backups"
	"relevel/events"
	"relevel/events/dirphotos"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/s3photos"
)

// reach finds the private Postgres for a backup: the one that a server runs, or else
// one that is started for as long as it takes.
func (s *stores) reach(ctx context.Context, set settings, running bool, to *backups.Source, log *slog.Logger) error {
	folder := filepath.Join(set.data, "postgres")
	server, err := localpg.FindRunning(folder)
	switch {
	case err == nil:
		to.DSN, to.Cluster = server.DSN(pgdb.Backup, databaseName), server.DSN(localpg.Superuser, "postgres")
		return nil
	case !errors.Is(err, localpg.ErrNotRunning):
		return err
	case running:
		return fmt.Errorf("%w: start relevel serve first, as this account", err)
	}
	if err := refuseMissing(folder); err != nil {
		return err
	}
	if err := s.startPostgres(ctx, folder, log); err != nil {
		return err
	}
	to.DSN, to.Cluster = s.postgres.DSN(pgdb.Backup, databaseName), s.postgres.DSN(localpg.Superuser, "postgres")
	return nil
}

// refuseMissing keeps a command from making a data folder that it was to read.
func refuseMissing(folder string) error {
	found, err := filepath.Glob(filepath.Join(folder, "PG_VERSION"))
	if err == nil && len(found) == 0 {
		err = fmt.Errorf("there is no data in %s: say where it is with --data, or set %s", folder, envDatabase)
	}
	return err
}

// openObjects opens where photos are, to read them alone.
func (s *stores) openObjects(set settings) (events.Objects, error) {
	if set.s3 != nil {
		return s3photos.New(*set.s3)
	}
	folder := filepath.Join(set.data, "photos")
	photos, err := dirphotos.Look(folder)
	if errors.Is(err, fs.ErrNotExist) { // none was ever sent
		photos, err = dirphotos.Open(folder)
	}
	if err != nil {
		return nil, err
	}
	s.closers = append(s.closers, photos.Close)
	return photos, nil
}
