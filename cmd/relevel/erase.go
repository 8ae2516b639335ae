package main

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"strconv"
	"strings"
	"time"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/pglog"
	"relevel/levelling"
	"relevel/server"
)

var eraseCommand = command{
	name:  "erase",
	brief: "erase what a person asked to have erased",
	usage: "[--firm FIRM] --why REASON (--person PERSON | --job JOB [--records 3,7-9] [--files 12:1])",
	about: `Removes the content of records: their bytes and salts, their words from the search,
what of them was kept apart, and photos and sounds that no other record shows, in all
sizes. The places of the records stay, so that everything that was signed still holds,
and a record in each job's book says what was erased and why. It is not undone.

--person takes all that somebody recorded, in every job of the firm. --job with
--records takes records of one job by their numbers in the book, and with --files
single photos and sounds, each as the number of its record and its place there. The
reason stays in the book: say the ground and name nobody.

What breaks off is finished by the same command again. Bundles and backups that were
made before are not reached by it, nor copies on phones until they are next online.
It works beside the server.`,
	env: append([]variable{{envEraser, "the database as the role relevel_eraser, the only one that may remove what was recorded; or " + envEraser + "_FILE"}}, serverVariables...),
	examples: []string{
		`relevel erase --person 0198e4a2-…-5f1c --why "asked for by somebody who worked here"`,
		`relevel erase --job 0198e4a2-…-7d20 --records 12 --files 14:1,14:2 --why "a neighbour is in the picture and asked"`,
	},
	new: func() action { return &eraseAction{} },
}

type eraseAction struct {
	data, firm, person, job, by string
	records, files, why         string
	log                         logFlags
}

func (a *eraseAction) flags(fs *flag.FlagSet) {
	fs.StringVar(&a.data, "data", "", "the data is in the folder `DIR`; "+usualData)
	fs.StringVar(&a.firm, "firm", "", "of the firm with this id, `FIRM`; needed where there are several")
	fs.StringVar(&a.person, "person", "", "all that `PERSON` recorded, by the id")
	fs.StringVar(&a.job, "job", "", "of the `JOB` with this id")
	fs.StringVar(&a.records, "records", "", "the `NUMBERS` of records, for example 3,7-9")
	fs.StringVar(&a.files, "files", "", "photos and sounds as `RECORD:PLACE`, for example 12:1,12:2")
	fs.StringVar(&a.why, "why", "", "the `REASON`, which stays in the book")
	fs.StringVar(&a.by, "by", "", "who erases, `PERSON`, by the id")
	a.log.flags(fs)
}

func (a *eraseAction) run(ctx context.Context, p program, args []string) error {
	if len(args) > 0 {
		return usagef("takes no arguments, and was given %q", args[0])
	}
	what, err := a.erasure()
	if err != nil {
		return usageError{err}
	}
	set, err := readBeside(a.data, p.env)
	if err != nil {
		return err
	}
	eraser, err := p.env.value(envEraser)
	if err != nil {
		return err
	}
	eraser = cmp.Or(eraser, set.eraser)
	if eraser == "" && !set.embedded() {
		return levelling.Bad(envEraser, "missing: only that role may remove what was recorded")
	}
	s, err := openStores(ctx, set, a.log.logger(p.stderr))
	if err != nil {
		return err
	}
	if set.embedded() {
		eraser = s.postgres.DSN(pgdb.Eraser, databaseName)
	}
	return errors.Join(a.erase(ctx, p, s, eraser, what), s.Close())
}

func (a *eraseAction) erase(ctx context.Context, p program, s *stores, dsn string, what server.Erasure) (err error) {
	if what.Firm, err = s.firmOf(ctx, a.firm); err != nil {
		return err
	}
	pool, err := s.openPool(ctx, dsn)
	if err != nil {
		return fmt.Errorf("open %s: %w", envEraser, err)
	}
	on := server.Erasing{
		Log: s.log, Store: s.jobs, Eraser: pglog.NewEraser(pool), Objects: s.photos.Objects,
		Now: time.Now().UTC().Truncate(time.Millisecond), Random: rand.Reader,
	}
	done, err := server.Erase(ctx, on, what)
	if err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "erased: records %d in %d jobs, kept apart %d, photos and sounds %d\n", done.Records, done.Jobs, done.Apart, done.Files)
	if n := len(done.Shown); n > 0 {
		fmt.Fprintf(p.stdout, "%d photos and sounds stay: other records show them, too\n", n)
	}
	return nil
}

// erasure reads what is to be erased.
func (a *eraseAction) erasure() (e server.Erasure, err error) {
	e.Why = a.why
	for _, id := range []struct {
		text string
		to   *events.ID
	}{{a.person, &e.Person}, {a.job, &e.Job}, {a.by, &e.By}} {
		if *id.to, err = parseOptionalID(id.text); err != nil {
			return e, err
		}
	}
	if e.Records, err = parseNumbers(a.records); err != nil {
		return e, err
	}
	if e.Files, err = parseFiles(a.files); err != nil {
		return e, err
	}
	return e, e.Check()
}

func parseOptionalID(text string) (events.ID, error) {
	if text == "" {
		return events.ID{}, nil
	}
	return events.ParseID(text)
}

// parseNumbers reads numbers and runs of them.
func parseNumbers(text string) (all []int64, err error) {
	for part := range strings.SplitSeq(text, ",") {
		if part = strings.TrimSpace(part); part == "" {
			continue
		}
		from, to, run := strings.Cut(part, "-")
		if !run {
			to = from
		}
		first, err1 := strconv.ParseInt(from, 10, 64)
		last, err2 := strconv.ParseInt(to, 10, 64)
		if err1 != nil || err2 != nil || first < 1 || last < first || last-first >= events.MaxErased {
			return nil, levelling.Bad("records", fmt.Sprintf("numbers of the book such as 3,7-9, not %q", part))
		}
		for i := range last - first + 1 { // last may be the greatest number there is
			all = append(all, first+i)
		}
	}
	return all, nil
}

func parseFiles(text string) (all []events.FileOf, err error) {
	for part := range strings.SplitSeq(text, ",") {
		if part = strings.TrimSpace(part); part == "" {
			continue
		}
		record, no, _ := strings.Cut(part, ":")
		n, err1 := strconv.ParseInt(record, 10, 64)
		place, err2 := strconv.Atoi(no)
		if err1 != nil || err2 != nil || n < 1 || place < 1 {
			return nil, levelling.Bad("files", fmt.Sprintf("the number of a record and a place such as 12:1, not %q", part))
		}
		all = append(all, events.FileOf{Record: n, No: place})
	}
	return all, nil
}
