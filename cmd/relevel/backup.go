package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"path/filepath"
	"time"

	"relevel/deploy/backups"
	"relevel/events/pgdb"
	"relevel/levelling"
)

var backupCommand = command{
	name:  "backup",
	brief: "copy everything, while the server works",
	usage: "--to DIR [--keep N] [--follow [--every HOURS]] [--keys] [--data DIR]",
	about: `Writes a backup of the database, at one moment, and of the photos that are kept at that
moment into the folder DIR, which may hold many: photos are copied once and shared by
all. Keep the folder on another disk, and a copy of it in another building.

With a private Postgres run it as the account of the server. --follow stays and receives
every change as it is written, and new photos some seconds later: then any moment can be
had back, up to the last one. It makes a new base every day, or as --every says. With a
database of your own its own tools do that, and this dumps the tables.

Nothing is encrypted. The keys that sign, the certificate authority and the first token
are left out unless --keys is given: keep those apart.

The exit status is 0 when the backup is complete, 3 when it is and some photos that the
record calls kept could not be read, which are named, and 1 when there is none.`,
	env: append([]variable{backupsVariable, {envBackup, "a database of your own as the role relevel_backup, which reads everything; or " + envBackup + "_FILE"}}, serverVariables...),
	examples: []string{
		"relevel backup --to /mnt/backup/relevel --keep 14",
		"relevel backup --to /mnt/backup/relevel --follow",
		"RELEVEL_BACKUP_DATABASE_URL=postgres://relevel_backup@db/relevel relevel backup --to /mnt/backup/relevel",
	},
	new: func() action { return &backupAction{} },
}

// backupsVariable names the folder of backups once for all commands.
var backupsVariable = variable{envBackups, "the folder of backups, where the command line names none; relevel doctor looks how old the last one is"}

// exitIncomplete says that what was asked for was done and something is missing.
const exitIncomplete = 3

type backupAction struct {
	data, to     string
	keep         int
	follow, keys bool
	every        float64
	log          logFlags
}

func (a *backupAction) flags(fs *flag.FlagSet) {
	fs.StringVar(&a.data, "data", "", "the data is in the folder `DIR`; "+usualData)
	fs.StringVar(&a.to, "to", "", "write into the folder `DIR`")
	fs.IntVar(&a.keep, "keep", 7, "keep the newest `N` backups, and remove those before them; 0 keeps all")
	fs.BoolVar(&a.follow, "follow", false, "stay, and receive every change of the private Postgres")
	fs.Float64Var(&a.every, "every", 24, "with --follow: make a new base when the last is older than `HOURS`")
	fs.BoolVar(&a.keys, "keys", false, "copy the keys that sign, the certificate authority and the first token, too")
	a.log.flags(fs)
}

func (a *backupAction) run(ctx context.Context, p program, args []string) error {
	var err error
	a.to, err = p.env.or(a.to, envBackups)
	switch {
	case err != nil:
		return err
	case len(args) > 0:
		return usagef("takes no arguments, and was given %q", args[0])
	case a.to == "":
		return usagef("say where to, with --to DIR or " + envBackups)
	case a.keep < 0 || a.every <= 0:
		return usagef("--keep takes 0 or more, --every more than 0 hours")
	}
	set, err := readSettings(a.data, p.env)
	if err != nil {
		return err
	}
	place, err := backups.Open(a.to)
	if err != nil {
		return err
	}
	source, s, err := a.open(ctx, p, set)
	if err == nil && a.follow {
		err = place.Follow(ctx, source, backups.Following{Every: time.Duration(a.every * float64(time.Hour)), Keep: a.kept()})
	} else if err == nil {
		err = a.once(ctx, p, place, source)
	}
	return errors.Join(err, s.Close(), place.Close())
}

// kept is how many backups stay.
func (a *backupAction) kept() int {
	if a.keep == 0 {
		return 1 << 30
	}
	return a.keep
}

// open finds what is to be backed up: the server that runs, or what it would start.
func (a *backupAction) open(ctx context.Context, p program, set settings) (backups.Source, *stores, error) {
	s := &stores{}
	log := a.log.logger(p.stderr)
	source := backups.Source{Program: version, Tell: func(text string) { log.Info(text) }, Warn: func(text string) { log.Warn(text) }}
	if a.keys {
		source.Secrets = []string{set.signingPath(), accessPath(set.data), filepath.Join(set.data, "tls")}
	}
	var err error
	if set.embedded() {
		err = s.reach(ctx, set, a.follow, &source, log)
	} else if source.DSN, err = p.env.value(envBackup); err == nil && source.DSN == "" {
		err = levelling.Bad(envBackup, "missing: the database as the role "+pgdb.Backup+", which alone reads everything")
	}
	if err == nil && a.follow && !set.embedded() {
		err = usagef("--follow is for the private Postgres: of a database of your own keep WAL by its own tools, beside dumps by this command")
	}
	if err != nil {
		return source, s, err
	}
	source.Objects, err = s.openObjects(set)
	return source, s, err
}

// once makes one backup and removes those that are too many.
func (a *backupAction) once(ctx context.Context, p program, place *backups.Place, source backups.Source) error {
	m, err := place.Dump(ctx, source)
	if err != nil {
		return err
	}
	removed, err := place.Prune(ctx, a.kept())
	fmt.Fprintf(p.stdout, "backup %s: firms %d, jobs %d, events %d, photos %d (%s), %s in %.1f s; removed %d\n",
		m.Name, m.Firms, m.Jobs, m.Events, m.Photos-int64(len(m.Missing)), bytesText(m.Bytes), bytesText(m.Size()), m.Seconds, removed)
	if err != nil {
		return err
	}
	for _, missing := range m.Missing {
		fmt.Fprintln(p.stderr, missing)
	}
	if n := len(m.Missing); n > 0 {
		return statusError{exitIncomplete, fmt.Errorf("%d photos that the record calls kept could not be read: relevel scrub says more", n)}
	}
	return nil
}

// bytesText is a size for people.
func bytesText(n int64) string {
	switch {
	case n >= 1<<30:
		return fmt.Sprintf("%.1f GB", float64(n)/(1<<30))
	case n >= 1<<20:
		return fmt.Sprintf("%.1f MB", float64(n)/(1<<20))
	}
	return fmt.Sprintf("%.1f kB", float64(n)/(1<<10))
}
