package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"time"

	"relevel/events"
	"relevel/events/dirphotos"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/pglog"
	"relevel/events/pgproof"
	"relevel/events/s3photos"
	"relevel/jobs/pgjobs"
	"relevel/server"
	"relevel/server/pgbell"
	"relevel/server/tasks/pgtasks"
	"relevel/server/tracing"
)

// databaseName is the database of the embedded default.
const databaseName = "relevel"

// stores is where a server keeps things.
type stores struct {
	db       *pgdb.DB
	log      *pglog.Log
	jobs     *pgjobs.Store
	photos   *events.Photos
	proofs   *pgproof.Store
	worker   *pgdb.DB        // nil when nobody may look over all firms
	tasks    server.Tasks    // nil likewise
	bell     server.Bell     // nil where no other server is on the database
	postgres *localpg.Server // nil when the database is somebody else's
	checks   []server.Check
	traces   *tracing.Tracing
	closers  []func() error // in the order of opening
}

// openStores opens what the settings name. It starts the private Postgres and
// brings its schema up to date; the schema of any other database it only checks.
func openStores(ctx context.Context, set settings, log *slog.Logger) (*stores, error) {
	s, err := openDatabase(ctx, set, log)
	if err != nil {
		return nil, err
	}
	if err := s.openPhotos(ctx, set, log); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// openDatabase opens the database alone; there are no photos then.
func openDatabase(ctx context.Context, set settings, log *slog.Logger) (*stores, error) {
	s := &stores{}
	if err := s.openDatabase(ctx, set, log); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// Close closes everything, the last opened first: Postgres goes after whoever
// uses it.
func (s *stores) Close() error {
	var errs []error
	for i := len(s.closers) - 1; i >= 0; i-- {
		errs = append(errs, s.closers[i]())
	}
	s.closers = nil
	return errors.Join(errs...)
}

func (s *stores) openDatabase(ctx context.Context, set settings, log *slog.Logger) (err error) {
	if s.traces, err = set.traced(ctx, log); err != nil {
		return err
	}
	s.closers = append(s.closers, func() error {
		if err := s.traces.Close(); err != nil {
			log.Warn("traces were not sent", "err", err) // which is no fault of the server
		}
		return nil
	})
	if set.embedded() {
		if err := s.startPostgres(ctx, filepath.Join(set.data, "postgres"), log); err != nil {
			return err
		}
		set.database = s.postgres.DSN(pgdb.App, databaseName)
		set.worker = s.postgres.DSN(pgdb.Worker, databaseName)
	}
	db, err := s.openPool(ctx, set.database)
	if err != nil {
		return fmt.Errorf("open %s: %w", envDatabase, err)
	}
	if err := db.CheckSchema(ctx); err != nil {
		return err
	}
	if set.worker != "" {
		if s.worker, err = s.openPool(ctx, set.worker); err != nil {
			return fmt.Errorf("open %s: %w", envWorker, err)
		}
	}
	s.db, s.log, s.jobs, s.proofs = db, pglog.New(db), pgjobs.New(db), pgproof.New(db)
	if s.worker != nil {
		s.tasks = pgtasks.New(db, s.worker, time.Now, rand.Reader)
	}
	if !set.embedded() {
		s.bell = pgbell.New(db)
	}
	s.photos = &events.Photos{Ledger: pglog.NewLedger(db)}
	s.checks = append(s.checks,
		server.Check{Name: "database", Needed: true, Run: db.Ping},
		server.Check{Name: "schema", Needed: true, Run: db.CheckSchema})
	return nil
}

func (s *stores) openPool(ctx context.Context, dsn string) (*pgdb.DB, error) {
	db, err := pgdb.Open(ctx, dsn, tracers(s.traces)...)
	if err != nil {
		return nil, err
	}
	s.closers = append(s.closers, func() error { db.Close(); return nil })
	return db, nil
}

// startPostgres starts the private Postgres and makes in it, or brings up to
// date, what a server needs.
func (s *stores) startPostgres(ctx context.Context, dir string, log *slog.Logger) error {
	pg, err := localpg.Start(ctx, localpg.Config{Dir: dir, Roles: pgdb.Roles(), Log: &lineWriter{log: log}})
	if err != nil {
		return fmt.Errorf("start the private Postgres: %w", err)
	}
	s.postgres = pg
	s.closers = append(s.closers, pg.Stop)
	admin := pg.DSN(localpg.Superuser, "postgres")
	if err := pgdb.EnsureRoles(ctx, admin); err != nil {
		return err
	}
	if err := pgdb.EnsureDatabase(ctx, admin, databaseName); err != nil {
		return err
	}
	return pgdb.Migrate(ctx, pg.DSN(pgdb.Owner, databaseName))
}

func (s *stores) openPhotos(ctx context.Context, set settings, log *slog.Logger) error {
	if set.s3 == nil {
		return s.openPhotoFolder(filepath.Join(set.data, "photos"))
	}
	bucket, err := s3photos.New(*set.s3)
	if err != nil {
		return err
	}
	// Events are taken without it, and photos wait on the phones.
	if err := bucket.EnsureBucket(ctx); err != nil {
		log.Warn("the photo store does not answer yet", "endpoint", set.s3.Endpoint, "err", err)
	}
	if set.worker == "" && !set.embedded() {
		log.Warn("photos in S3 are not read back again: set " + envWorker)
	}
	s.photos.Objects = bucket
	s.checks = append(s.checks, server.Check{Name: "photos", Run: bucket.EnsureBucket})
	return nil
}

func (s *stores) openPhotoFolder(folder string) error {
	photos, err := dirphotos.Open(folder)
	if err != nil {
		return err
	}
	s.closers = append(s.closers, photos.Close)
	s.photos.Objects = photos
	s.checks = append(s.checks, server.Check{Name: "photos", Run: photos.Ready})
	return nil
}
