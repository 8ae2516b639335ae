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

	"golang.org/x/mod/sumdb/note"

	"relevel/events"
	"relevel/jobs/bundle"
	"relevel/server"
	"relevel/server/pictures"
)

// exitUnsure is the status of a bundle of which not all could be checked.
const exitUnsure = 3

var exportCommand = command{
	name:  "export",
	brief: "write a job into one file that can be checked without us",
	usage: "[--firm FIRM] [--out FILE] JOB",
	about: `Writes a bundle: every record of the job as it was sealed, its photos and sounds, what
was signed, the plan, the heights, and a README that says how all of it is checked
with ordinary tools. The same job comes to the same bytes each time. relevel verify
checks a bundle, relevel import restores it.

The originals of photos may hold where they were taken. With --smaller they are left
out, and smaller ones that were made from them are in their place: that is what an
owner is given. With --upto the bundle ends with that record.

It works beside the server, whose pages offer the same file.`,
	env: serverVariables,
	examples: []string{
		"relevel export 0198e4a2-…-5f1c",
		"relevel export --smaller --out wattle-street.zip 0198e4a2-…-5f1c",
	},
	new: func() action { return &exportAction{} },
}

type exportAction struct {
	data, firm, out string
	smaller         bool
	upto            int64
	log             logFlags
}

func (a *exportAction) flags(fs *flag.FlagSet) {
	fs.StringVar(&a.data, "data", "", "the data is in the folder `DIR`; "+usualData)
	fs.StringVar(&a.firm, "firm", "", "the job is of the firm with this id, `FIRM`; needed where there are several")
	fs.StringVar(&a.out, "out", "", "write to `FILE`; without it job-JOB.zip here, and - is the standard output")
	fs.BoolVar(&a.smaller, "smaller", false, "smaller photos in the place of the originals")
	fs.Int64Var(&a.upto, "upto", 0, "end with the record of this `NUMBER`; 0 takes all there are")
	a.log.flags(fs)
}

func (a *exportAction) run(ctx context.Context, p program, args []string) error {
	if len(args) != 1 {
		return usagef("takes the id of one job")
	}
	job, err := events.ParseID(args[0])
	if err != nil {
		return usageError{err}
	}
	set, err := readBeside(a.data, p.env)
	if err != nil {
		return err
	}
	s, err := openStores(ctx, set, a.log.logger(p.stderr))
	if err != nil {
		return err
	}
	return errors.Join(a.export(ctx, p, s, job), s.Close())
}

func (a *exportAction) export(ctx context.Context, p program, s *stores, job events.ID) error {
	firm, err := s.firmOf(ctx, a.firm)
	if err != nil {
		return err
	}
	order := bundle.Order{Firm: firm, Job: job, Upto: a.upto, Photos: bundle.Originals}
	if a.smaller {
		order.Photos = bundle.Smaller
	}
	c, err := bundle.Gather(ctx, bundle.From{Log: s.log, Store: s.jobs, Signed: s.proofs}, order)
	if err != nil {
		return err
	}
	album := pictures.NewAlbum(s.photos, pictures.NewMaker(pictureMemory))
	write := func(w io.Writer) error {
		return bundle.Write(w, c, server.BundleFiles(ctx, album, order), p.progress("photos and sounds"))
	}
	if a.out == "-" {
		return write(p.stdout)
	}
	path := a.out
	if path == "" {
		path = "job-" + job.String() + ".zip"
	}
	if err := wholeFile(path, write); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "%s: %s, records %d\n", path, c.About.Job.Name, c.About.Seq)
	return err
}

// progress tells on the screen how far something is that takes long.
func (p program) progress(what string) bundle.Progress {
	last := time.Now()
	return func(done, of int) {
		if now := time.Now(); now.Sub(last) > 2*time.Second || done == of && of > 100 {
			last = now
			fmt.Fprintf(p.stderr, "%s: %d of %d\n", what, done, of)
		}
	}
}

// wholeFile writes a file wholly or not at all.
func wholeFile(path string, write func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), ".relevel-*")
	if err != nil {
		return fmt.Errorf("make the file: %w", err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, f.Close(), os.Remove(f.Name()))
		}
	}()
	if err = write(f); err != nil {
		return err
	}
	if err = errors.Join(f.Sync(), f.Close()); err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", path, errors.Join(err, os.Remove(f.Name())))
	}
	return nil
}

var verifyCommand = command{
	name:  "verify",
	brief: "check a bundle, with no server",
	usage: "[--key KEY]… [--against CHECKPOINT]… BUNDLE",
	about: `Checks that nothing in a bundle was changed: every record against its leaf, the leaves
against what was signed, photos against their records, the heights against the
records, and that there is no byte that was not written. It needs no server and sends
nothing anywhere. It says in words what holds, what does not, and what could not be
checked, and names the first record or photo that was changed.

A bundle carries the keys that it was signed with, which vouch for nothing by
themselves. --key names one that you had from the firm another way: a line of
"relevel keys", or a file with such lines. --against names the file of a checkpoint
that somebody kept, which shows a history that was written anew.

The exit status is 0 when the bundle holds, 1 when something was changed, 2 when it
cannot be read or what was asked for makes no sense, and 3 when what could be checked
holds and something could not be checked.`,
	examples: []string{
		"relevel verify wattle-street.zip",
		"relevel verify --key keys.txt --against checkpoint-of-march.txt wattle-street.zip",
		"relevel export --out - 0198e4a2-…-5f1c | relevel verify -",
	},
	new: func() action { return &verifyAction{} },
}

type verifyAction struct{ keys, against many }

func (a *verifyAction) flags(fs *flag.FlagSet) {
	fs.Var(&a.keys, "key", "trust `KEY`, or the keys in a file of that name; may be given several times")
	fs.Var(&a.against, "against", "hold the bundle against the signed checkpoint in the file `CHECKPOINT`; may be given several times")
}

// many is a flag that may be given several times.
type many []string

func (m *many) String() string { return "" }

// Set adds one.
func (m *many) Set(s string) error { *m = append(*m, s); return nil }

func (a *verifyAction) run(_ context.Context, p program, args []string) error {
	if len(args) != 1 {
		return usagef("takes one bundle, or - for the standard input")
	}
	c := bundle.Check{}
	var err error
	if c.Trusted, err = readKeys(a.keys); err != nil {
		return usageError{err}
	}
	for _, path := range a.against {
		held, err := os.ReadFile(path)
		if err != nil {
			return usageError{err}
		}
		c.Against = append(c.Against, held)
	}
	in, err := p.open(args[0])
	if err != nil {
		return statusError{exitBadInput, err}
	}
	defer in.Close()
	r, err := bundle.Verify(in, c)
	if err != nil {
		return statusError{exitBadInput, err}
	}
	if _, err := io.WriteString(p.stdout, r.Text()); err != nil {
		return err
	}
	switch r.Verdict {
	case bundle.Changed:
		return statusError{status: exitFailed}
	case bundle.Partly:
		return statusError{status: exitUnsure}
	}
	return nil
}

// readKeys reads public keys: each as it is, or the name of a file with one a line.
func readKeys(given []string) (all []note.Verifier, err error) {
	for _, one := range given {
		keys, err := bundle.ReadKeys(one)
		if err != nil {
			text, unread := os.ReadFile(one)
			if unread != nil {
				return nil, fmt.Errorf("neither a key nor a file: %w", err)
			}
			if keys, err = bundle.ReadKeys(string(text)); err != nil {
				return nil, fmt.Errorf("%s: %w", one, err)
			}
		}
		all = append(all, keys...)
	}
	return all, nil
}

// open opens a file to be read; - is the standard input.
func (p program) open(path string) (io.ReadCloser, error) {
	if path == "-" {
		return io.NopCloser(p.stdin), nil
	}
	return os.Open(path)
}
