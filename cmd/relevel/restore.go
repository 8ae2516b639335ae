package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"relevel/deploy/backups"
	"relevel/events/dirphotos"
	"relevel/events/s3photos"
	"relevel/levelling"
)

var restoreCommand = command{
	name:  "restore",
	brief: "bring everything back from a backup, or try whether it would",
	usage: "--from DIR [--list | --check] [--backup NAME] [--until TIME] [--data DIR]",
	about: `Takes the backup in the folder DIR that reaches furthest, or the one that --backup names,
checks that nothing in it was changed, and restores it to where relevel serve would look:
the data folder, or the database of RELEVEL_OWNER_DATABASE_URL, and photos into the data
folder or the S3 server. Nothing that is there is overwritten: the data folder or the
database has to be empty.

Then it reads every record, compares each job's tree with every checkpoint that was
signed and with what the backup knew, hashes every photo, and says what it found.

--until takes a base and the changes that were received since to a moment, for example
2026-03-02T16:30:00+11:00.

--check restores the database into a folder that is thrown away, holds it against
everything likewise, reads the photos where they are, and says how long it took. It
touches nothing else, and is meant to be run every week.

The exit status is 0 when everything is back, 3 when it is restored and something is
missing or changed, which is named, and 1 when nothing was restored.`,
	env: append([]variable{
		backupsVariable,
		{envOwner, "an empty database of your own to restore into, as the role relevel_owner; or " + envOwner + "_FILE"},
		{envAdmin, "the same server as a superuser: makes the roles and the database where they are missing; or " + envAdmin + "_FILE"},
	}, serverVariables...),
	examples: []string{
		"relevel restore --from /mnt/backup/relevel --check",
		"relevel restore --from /mnt/backup/relevel --data /var/lib/relevel",
		"relevel restore --from /mnt/backup/relevel --until 2026-03-02T16:30:00+11:00 --data /srv/as-it-was",
	},
	new: func() action { return &restoreAction{} },
}

type restoreAction struct {
	data, from, name, until string
	check, list             bool
	log                     logFlags
}

func (a *restoreAction) flags(fs *flag.FlagSet) {
	fs.StringVar(&a.data, "data", "", "restore into the data folder `DIR`; "+usualData)
	fs.StringVar(&a.from, "from", "", "take backups from the folder `DIR`")
	fs.StringVar(&a.name, "backup", "", "take the backup of this `NAME`")
	fs.StringVar(&a.until, "until", "", "the state at `TIME`, with its zone")
	fs.BoolVar(&a.check, "check", false, "restore into a folder that is thrown away")
	fs.BoolVar(&a.list, "list", false, "list the backups and restore nothing")
	a.log.flags(fs)
}

func (a *restoreAction) run(ctx context.Context, p program, args []string) error {
	var err error
	a.from, err = p.env.or(a.from, envBackups)
	switch {
	case err != nil:
		return err
	case len(args) > 0:
		return usagef("takes no arguments, and was given %q", args[0])
	case a.from == "":
		return usagef("say where from, with --from DIR or " + envBackups)
	case a.list:
		return a.printList(p.stdout)
	}
	log := a.log.logger(p.stderr)
	r := backups.Restore{Dir: a.from, Name: a.name, Check: a.check, Tell: func(text string) { log.Info(text) }}
	if a.until != "" {
		at, err := time.Parse(time.RFC3339, a.until)
		if err != nil {
			return levelling.Bad("until", "a moment with its zone, for example 2026-03-02T16:30:00+11:00")
		}
		r.Until = at
	}
	set, err := readSettings(a.data, p.env)
	if err != nil {
		return err
	}
	done, err := a.restore(ctx, p, set, r)
	if err != nil {
		return err
	}
	return a.print(p, set, done)
}

func (a *restoreAction) printList(w io.Writer) error {
	all, err := backups.List(a.from)
	for _, m := range all {
		more := ""
		if m.WAL != "" {
			more = ", and the changes since"
		}
		fmt.Fprintf(w, "%s  %s%s: jobs %d, events %d, photos %d (%s), %s, schema %d, relevel %s\n",
			m.Name, m.Kind, more, m.Jobs, m.Events, m.Photos, bytesText(m.Bytes), bytesText(m.Size()), m.Schema, m.Program)
	}
	return err
}

func (a *restoreAction) restore(ctx context.Context, p program, set settings, r backups.Restore) (done backups.Restored, err error) {
	if a.check {
		folder, err := os.MkdirTemp("", "relevel-check-")
		if err != nil {
			return done, err
		}
		defer os.RemoveAll(folder)
		if err := os.Chmod(folder, 0o755); err != nil {
			return done, err
		}
		return r.Local(ctx, filepath.Join(folder, "postgres"), databaseName)
	}
	owner, err := p.env.value(envOwner)
	if err != nil {
		return done, err
	}
	if owner == "" && !set.embedded() {
		return done, levelling.Bad(envOwner, "missing: the database to restore into, as its owner")
	}
	photos, err := openForRestore(ctx, set, &r)
	if err != nil {
		return done, err
	}
	defer func() { err = errors.Join(err, photos()) }()
	if owner == "" {
		return r.Local(ctx, filepath.Join(set.data, "postgres"), databaseName)
	}
	if p.env[envAdmin] != "" || p.env[envAdmin+"_FILE"] != "" {
		if err := prepareDatabase(ctx, p.env, owner); err != nil {
			return done, err
		}
	}
	return r.Own(ctx, owner)
}

// openForRestore opens where photos go.
func openForRestore(ctx context.Context, set settings, r *backups.Restore) (closePhotos func() error, err error) {
	if set.s3 != nil {
		bucket, err := s3photos.New(*set.s3)
		if err != nil {
			return nil, err
		}
		r.Objects = bucket
		return func() error { return nil }, bucket.EnsureBucket(ctx)
	}
	if err := os.MkdirAll(set.data, 0o755); err != nil {
		return nil, fmt.Errorf("make the data folder: %w", err)
	}
	photos, err := dirphotos.Open(filepath.Join(set.data, "photos"))
	if err != nil {
		return nil, err
	}
	r.Objects = photos
	return photos.Close, nil
}

// print says what came back and what did not.
func (a *restoreAction) print(p program, set settings, done backups.Restored) error {
	what := "restored"
	if a.check {
		what = "checked"
	}
	r := done.Audit
	fmt.Fprintf(p.stdout, "%s backup %s of %s\n", what, done.Backup.Name, done.Backup.MadeAt.Format(time.RFC3339))
	fmt.Fprintf(p.stdout, "  records  %d of %d jobs and %d firms, %d of them erased: read, sealed as they were\n", r.Events, r.Jobs, r.Firms, r.Erased)
	fmt.Fprintf(p.stdout, "  signed   %d checkpoints of jobs and %d of firms: compared\n", r.Checkpoints, r.FirmCheckpoints)
	fmt.Fprintf(p.stdout, "  photos   %d (%s): hashed; lost %d\n", done.Photos, bytesText(done.Bytes), done.Lost)
	fmt.Fprintf(p.stdout, "  took     database %s, check %s, photos %s%s\n",
		done.Database.Round(time.Millisecond), done.Checking.Round(time.Millisecond), done.Copying.Round(time.Millisecond), perGB(done))
	for _, fault := range done.Faults {
		fmt.Fprintln(p.stderr, fault)
	}
	if n := len(done.Faults); n > 0 {
		return statusError{exitIncomplete, fmt.Errorf("%d things are missing or are not what they were: they are named above", n)}
	}
	if !a.check {
		a.printNext(p.stdout, set)
	}
	return nil
}

// perGB is how long a GB of the backup and its photos takes, where there is enough to
// tell.
func perGB(done backups.Restored) string {
	n := done.Bytes + done.Backup.Size()
	if n < 10<<20 {
		return ""
	}
	all := done.Database + done.Checking + done.Copying
	return fmt.Sprintf("; %.0f s per GB", all.Seconds()*(1<<30)/float64(n))
}

// printNext says what is left to do.
func (a *restoreAction) printNext(w io.Writer, set settings) {
	if _, err := os.Stat(set.signingPath()); err != nil {
		fmt.Fprintf(w, "The keys that sign are not at %s: put them back before the first start, or a new one is made.\n", set.signingPath())
	}
	fmt.Fprintln(w, "Start relevel serve. Phones send again what they still have.")
}
