package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"time"

	"relevel/jobs/bundle"
)

var importCommand = command{
	name:  "import",
	brief: "restore a job from a bundle",
	usage: "[--data DIR] BUNDLE",
	about: `Puts a bundle back: the firm and its people where they are missing, the job under its
id, every record under its number, time and salt, and the photos, so that what was
signed before still holds. A bundle that does not hold is not taken in, nor one with
smaller photos. Where the job is there already with other records nothing is changed;
the same bundle may be imported again. What was erased here stays erased.

The keys that signed the bundle are kept with it: compare them with those that you had
from the firm. Names of people are as the bundle says them; they have no account here.

It works beside the server.`,
	env:      serverVariables,
	examples: []string{"relevel import wattle-street.zip", "relevel import --data /srv/relevel wattle-street.zip"},
	new:      func() action { return &importAction{} },
}

type importAction struct {
	data string
	log  logFlags
}

func (a *importAction) flags(fs *flag.FlagSet) {
	fs.StringVar(&a.data, "data", "", "keep data in the folder `DIR`; "+usualData)
	a.log.flags(fs)
}

func (a *importAction) run(ctx context.Context, p program, args []string) error {
	if len(args) != 1 {
		return usagef("takes the file of one bundle")
	}
	set, err := readBeside(a.data, p.env)
	if err != nil {
		return err
	}
	in, err := os.Open(args[0])
	if err != nil {
		return usageError{err}
	}
	defer in.Close()
	s, err := openStores(ctx, set, a.log.logger(p.stderr))
	if err != nil {
		return err
	}
	return errors.Join(restore(ctx, p, s, in), s.Close())
}

func restore(ctx context.Context, p program, s *stores, in io.ReadSeeker) error {
	into := bundle.Into{Log: s.log, Store: s.jobs, Signed: s.proofs, Photos: s.photos, Now: time.Now().UTC().Truncate(time.Millisecond)}
	done, err := bundle.Restore(ctx, in, into, p.progress("photos and sounds"))
	if err != nil {
		return err
	}
	if _, err := rebuildFirm(ctx, s, done.Firm); err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "restored %s\nfirm    %s\njob     %s\nrecords %d\nfiles   %d\n", done.Name, done.Firm, done.Job, done.Records, done.Files)
	if done.Missing > 0 {
		fmt.Fprintf(p.stdout, "missing %d, as the bundle says\n", done.Missing)
	}
	return nil
}
