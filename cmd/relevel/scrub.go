package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"time"

	"relevel/deploy/backups"
	"relevel/events"
	"relevel/events/dirphotos"
	"relevel/events/scrub"
	"relevel/levelling"
	"relevel/server/pictures"
)

var scrubCommand = command{
	name:  "scrub",
	brief: "read stored photos back, and find what is damaged, gone or unknown",
	usage: "[--older DAYS] [--rate MB] [--from DIR] [--data DIR]",
	about: `Reads every photo and sound that the record calls kept, hashes it, and says which are
damaged or gone. Those fall back to received in the ledger, with the reason: the phone
that took one sends it again when it asks and still has it. With --from they are put
back from a folder of backups, after their bytes were hashed there.

Smaller sizes that cannot be read are removed, and made again when somebody looks.
Things in the store that no record knows are listed and left.

A server reads its photos back by itself, some at a time and all of them in about a
month; this is for after a disk was in doubt. It runs beside servers, as the account of
the server, may be ended at any time, and goes on with --older 1 the same day.

The exit status is 0 when all is whole or was put back, and 3 when something is damaged
or gone.`,
	env:      serverVariables,
	examples: []string{"relevel scrub", "relevel scrub --older 7 --rate 20", "relevel scrub --from /mnt/backup/relevel"},
	new:      func() action { return &scrubAction{} },
}

type scrubAction struct {
	data, from string
	older      int
	rate       float64
	log        logFlags
}

func (a *scrubAction) flags(fs *flag.FlagSet) {
	fs.StringVar(&a.data, "data", "", "the data is in the folder `DIR`; "+usualData)
	fs.StringVar(&a.from, "from", "", "put back what is damaged from the folder of backups `DIR`")
	fs.IntVar(&a.older, "older", 0, "only what was not read back for so many `DAYS`; 0 is all")
	fs.Float64Var(&a.rate, "rate", 0, "read so many `MB` a second at most; 0 is as fast as it goes")
	a.log.flags(fs)
}

func (a *scrubAction) run(ctx context.Context, p program, args []string) error {
	switch {
	case len(args) > 0:
		return usagef("takes no arguments, and was given %q", args[0])
	case a.older < 0 || a.rate < 0:
		return usagef("--older and --rate take 0 or more")
	}
	set, err := readBeside(a.data, p.env)
	if err != nil {
		return err
	}
	if set.worker == "" && !set.embedded() {
		return levelling.Bad(envWorker, "missing: only that role may look over all firms")
	}
	if set.embedded() {
		if err := refuseMissing(filepath.Join(set.data, "postgres")); err != nil {
			return err
		}
	}
	log := a.log.logger(p.stderr)
	s, err := openStores(ctx, set, log)
	if err != nil {
		return err
	}
	return errors.Join(a.scrub(ctx, p, s, log), s.Close())
}

func (a *scrubAction) scrub(ctx context.Context, p program, s *stores, log *slog.Logger) error {
	told := time.Now()
	c := &scrub.Scrubber{Photos: s.photos, Whole: pictures.Whole}
	var found scrub.Found // of the firms before
	c.Tell = func(now scrub.Found) {
		if time.Since(told) > 5*time.Second {
			told = time.Now()
			log.Info("photos are read back", "read", found.Read+now.Read, "bytes", found.Bytes+now.Bytes, "damaged", len(found.Damaged)+len(now.Damaged))
		}
	}
	if a.rate > 0 {
		c.Pace = paced(max(1, int(a.rate*(1<<20))))
	}
	if a.from != "" {
		copies, err := dirphotos.Look(backups.Photos(a.from))
		if err != nil {
			return err
		}
		defer copies.Close()
		c.Mend = func(ctx context.Context, k events.Kept) (io.ReadCloser, error) {
			body, _, err := copies.Open(ctx, events.Key{Firm: k.Firm, SHA256: k.SHA256})
			return body, err
		}
	}
	firms, err := s.firms(ctx)
	if err != nil {
		return err
	}
	for _, firm := range firms {
		more, err := a.firm(ctx, c, firm)
		found.Add(more)
		if err != nil {
			return err
		}
	}
	strays := 0
	all, err := c.Strays(ctx, func(l events.Listed, why string) {
		strays++
		fmt.Fprintf(p.stdout, "%s (%s): %s\n", l.Name, bytesText(l.Bytes), why)
	})
	if err != nil {
		return err
	}
	return report(p.stdout, found, all, strays)
}

// firm reads back the files of one firm: those that are to be there, and those that fell
// back or that a crash kept from being called stored.
func (a *scrubAction) firm(ctx context.Context, c *scrub.Scrubber, firm events.ID) (scrub.Found, error) {
	// In milliseconds, as the ledger has it: what falls back now is not before now, and
	// is not looked at once more under the state that it fell to.
	now := time.Now().UTC().Truncate(time.Millisecond)
	var found scrub.Found
	for _, state := range []events.FileState{events.FileDurable, events.FileStored, events.FileReceived} {
		more, err := c.Firm(ctx, events.KeptQuery{Firm: firm, State: state, Before: now.AddDate(0, 0, -a.older)}, now)
		found.Add(more)
		if err != nil {
			return found, fmt.Errorf("firm %s: %w", firm, err)
		}
	}
	return found, nil
}

func report(w io.Writer, found scrub.Found, all, strays int) error {
	for _, k := range found.Mended {
		fmt.Fprintf(w, "%s of firm %s: put back from the backup\n", k.SHA256, k.Firm)
	}
	for _, k := range found.Damaged {
		fmt.Fprintf(w, "%s of firm %s: %s\n", k.SHA256, k.Firm, k.Reason)
	}
	fmt.Fprintf(w, "read back %d photos and sounds (%s): damaged or gone %d, put back %d; smaller sizes %d, removed %d; things in the store %d, unknown %d\n",
		found.Read, bytesText(found.Bytes), len(found.Damaged), len(found.Mended), found.Sizes, found.Unmade, all, strays)
	if n := len(found.Damaged); n > 0 {
		return statusError{exitIncomplete, fmt.Errorf("%d are damaged or gone: put them back with --from and a folder of backups, or from the phones that took them", n)}
	}
	return nil
}
