package main

import (
	"context"
	"errors"
	"flag"
	"fmt"

	"relevel/events"
	"relevel/levelling"
	"relevel/server"
)

var rebuildCommand = command{
	name:  "rebuild",
	brief: "make again what is derived from the log",
	usage: "[--data DIR]",
	about: `Makes again, for every firm, the summaries and diaries of its jobs and what is known of which
records of each phone arrived. Both are kept up by the servers; this is for after
a crash of the database or a restored backup. It may run beside servers, and be
repeated.`,
	env:      databaseVariables,
	examples: []string{"relevel rebuild", "RELEVEL_DATABASE_URL=… RELEVEL_WORKER_DATABASE_URL=… relevel rebuild"},
	new:      func() action { return &rebuildAction{} },
}

type rebuildAction struct {
	data string
	log  logFlags
}

func (a *rebuildAction) flags(fs *flag.FlagSet) {
	fs.StringVar(&a.data, "data", "", "the data is in the folder `DIR`; "+usualData)
	a.log.flags(fs)
}

func (a *rebuildAction) run(ctx context.Context, p program, args []string) error {
	if len(args) > 0 {
		return usagef("takes no arguments, and was given %q", args[0])
	}
	set, err := readBeside(a.data, p.env)
	if err != nil {
		return err
	}
	if set.worker == "" && !set.embedded() {
		return levelling.Bad(envWorker, "missing: only that role may look over all firms")
	}
	s, err := openDatabase(ctx, set, a.log.logger(p.stderr))
	if err != nil {
		return err
	}
	return errors.Join(rebuildAll(ctx, p, s), s.Close())
}

func rebuildAll(ctx context.Context, p program, s *stores) error {
	firms, err := s.firms(ctx)
	if err != nil {
		return err
	}
	folded := 0
	for _, firm := range firms {
		n, err := rebuildFirm(ctx, s, firm)
		folded += n
		if err != nil {
			return err
		}
	}
	_, err = fmt.Fprintf(p.stdout, "rebuilt from the log: firms %d, jobs %d\n", len(firms), folded)
	return err
}

func rebuildFirm(ctx context.Context, s *stores, firm events.ID) (folded int, err error) {
	if folded, err = server.Rebuild(ctx, s.log, s.jobs, firm); err != nil {
		err = fmt.Errorf("firm %s: %w", firm, err)
	}
	return folded, err
}
