package main

import (
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
)

var firmCommand = command{
	name:  "firm",
	brief: "add a firm, or another token for one",
	usage: "[--words REGION] add NAME | token FIRM NAME",
	about: `add makes a firm, its first token for programs, and a link with which the first
person makes an account. token makes another token, for the firm with that id, and
NAME says who holds it. Other links are made by the office, or by relevel access.

A token opens everything of its firm. It is printed once and only its hash is
kept: whoever loses it gets a new one. It works beside the server; the first firm of an
unconfigured one is made by relevel serve.`,
	env:      append([]variable{urlVariable}, databaseVariables...),
	examples: []string{`relevel firm add "My firm"`, `relevel firm token 0198e4a2-…-5f1c "office computer"`},
	new:      func() action { return &firmAction{} },
}

type firmAction struct {
	data, words string
	url         string // where people reach the server
	log         logFlags
}

func (a *firmAction) flags(fs *flag.FlagSet) {
	fs.StringVar(&a.data, "data", "", "the data is in the folder `DIR`; "+usualData)
	fs.StringVar(&a.words, "words", string(jobs.Australia), "show the firm the trade words of `REGION`: AU, NZ, UK or US")
	a.log.flags(fs)
}

func (a *firmAction) run(ctx context.Context, p program, args []string) error {
	var work func(context.Context, program, jobs.Store) error
	switch {
	case len(args) == 2 && args[0] == "add":
		work = func(ctx context.Context, p program, s jobs.Store) error { return a.add(ctx, p, s, args[1]) }
	case len(args) == 3 && args[0] == "token":
		work = func(ctx context.Context, p program, s jobs.Store) error { return addToken(ctx, p, s, args[1], args[2]) }
	default:
		return usagef("say add NAME, or token FIRM NAME; names of several words go in quotes")
	}
	set, err := readBeside(a.data, p.env)
	if err != nil {
		return err
	}
	a.url = set.publicURL("")
	s, err := openDatabase(ctx, set, a.log.logger(p.stderr))
	if err != nil {
		return err
	}
	return errors.Join(work(ctx, p, s.jobs), s.Close())
}

func (a *firmAction) add(ctx context.Context, p program, store jobs.Store, name string) error {
	fresh, err := newAccess(name, jobs.Region(strings.ToUpper(a.words)), time.Now())
	if err != nil {
		return err
	}
	if err := fresh.register(ctx, store); err != nil {
		return err
	}
	link, err := newLink(ctx, store, jobs.Invitation{Firm: fresh.Firm.ID, Purpose: jobs.First}, time.Now())
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "firm   %s\ntoken  %s\nlink   %s\n", fresh.Firm.ID, fresh.Token, invitationLink(a.url, link))
	return err
}

func addToken(ctx context.Context, p program, store jobs.Store, firm, name string) error {
	id, err := events.ParseID(firm)
	if err != nil {
		return usageError{err}
	}
	if _, err := store.FindFirm(ctx, id); err != nil {
		return err
	}
	token, _, err := jobs.NewToken(id, rand.Reader)
	if err != nil {
		return err
	}
	if err := registerToken(ctx, store, token, name, events.ID{}, time.Now()); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "token  %s\n", token)
	return err
}

// firmOf is the firm that is named, or the only one there is.
func (s *stores) firmOf(ctx context.Context, named string) (events.ID, error) {
	if named != "" {
		id, err := events.ParseID(named)
		if err != nil {
			return id, usageError{err}
		}
		return id, nil
	}
	if s.worker == nil {
		return events.ID{}, usagef("say --firm FIRM, or set %s, by which the only one is found", envWorker)
	}
	firms, err := s.firms(ctx)
	switch {
	case err != nil:
		return events.ID{}, err
	case len(firms) == 0:
		return events.ID{}, fmt.Errorf("no firm has a job here: %w", events.ErrNotFound)
	case len(firms) > 1:
		return events.ID{}, usagef("there are %d firms: say which with --firm", len(firms))
	}
	return firms[0], nil
}
