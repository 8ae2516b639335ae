package backups

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"relevel/events/pgdb/localpg"
)

const (
	dumpName    = "database.dump"
	secretsName = "secrets"
)

// Dump makes a backup of the tables, at one moment, and of the photos that are kept
// at that moment. It needs no more than to read, so it works with any Postgres.
func (p *Place) Dump(ctx context.Context, s Source) (Manifest, error) {
	began := time.Now()
	look, err := s.look(ctx)
	if err != nil {
		return Manifest{}, err
	}
	defer look.end(ctx)
	part, err := p.begin(began)
	if err != nil {
		return Manifest{}, err
	}
	m, err := p.dump(ctx, s, look, part)
	if err == nil {
		m.Seconds = since(began)
		m, err = p.finish(part, m)
	}
	if err != nil {
		return m, errors.Join(err, os.RemoveAll(part))
	}
	return m, nil
}

func (p *Place) dump(ctx context.Context, s Source, look *snapshot, part string) (Manifest, error) {
	program, err := localpg.FindProgram("pg_dump", look.m.Postgres)
	if err != nil {
		return look.m, err
	}
	address, env, err := forProgram(s.DSN)
	if err != nil {
		return look.m, err
	}
	s.tell("database: %d events of %d jobs", look.m.Events, look.m.Jobs)
	err = program.Run(ctx, env, "--format=custom", "--compress=3", "--no-password", "--snapshot="+look.id,
		"--file="+filepath.Join(part, dumpName), "--dbname="+address)
	if err != nil {
		return look.m, err
	}
	if err := errors.Join(look.writeHeads(ctx, part), look.writePhotos(ctx, part)); err != nil {
		return look.m, fmt.Errorf("list what the database holds: %w", err)
	}
	m := look.m
	m.Kind = KindDump
	look.end(ctx) // nothing holds up the server's cleaning while photos are copied
	return m, p.complete(ctx, s, part, &m)
}

// complete copies what lies beside the database: photos, and keys where asked for.
func (p *Place) complete(ctx context.Context, s Source, part string, m *Manifest) error {
	photos, err := readPhotos(part)
	if err != nil {
		return err
	}
	c, err := copyPhotos(ctx, s.Objects, p.photos, photos, s.tell)
	if err != nil {
		return err
	}
	m.Missing = append([]string{}, c.Faults...)
	for _, from := range s.Secrets {
		if err := copySecret(from, filepath.Join(part, secretsName, filepath.Base(from))); err != nil {
			return fmt.Errorf("copy the keys: %w", err)
		}
	}
	return nil
}

// copySecret copies a file or a folder for this account's eyes. One that is not there
// is passed over.
func copySecret(from, to string) error {
	return filepath.WalkDir(from, func(path string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) && path == from {
			return nil
		}
		if err != nil {
			return err
		}
		rest, err := filepath.Rel(from, path)
		if err != nil {
			return err
		}
		name := filepath.Join(to, rest)
		if d.IsDir() {
			return os.MkdirAll(name, 0o700)
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		return errors.Join(os.MkdirAll(filepath.Dir(name), 0o700), os.WriteFile(name, text, 0o600))
	})
}
