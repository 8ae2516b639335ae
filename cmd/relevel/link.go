package main

import (
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"relevel/events"
	"relevel/jobs"
)

var accessCommand = command{
	name:  "access",
	brief: "list a firm's people, or make a link for one who cannot get in",
	usage: "[--firm ID] list | link [PERSON]",
	about: `list shows the people of a firm with their roles and how they sign in. link prints
a one-time link for one of them, named by id, name or e-mail address: with it they
make an account, or a new password when they have one. Without a person it is a link
for somebody new of the office. This is for when the office itself is locked out;
otherwise it makes such links on its own page.

A link opens once: an invitation within seven days, a new password within two hours.
Without --firm it is the first firm of the data folder. It works beside the server.`,
	env:      append([]variable{urlVariable}, databaseVariables...),
	examples: []string{"relevel access list", "relevel access link office@example.com", `relevel access --firm 0198e4a2-…-5f1c link "Robin Hart"`},
	new:      func() action { return &accessAction{} },
}

type accessAction struct {
	data, firm string
	log        logFlags
}

func (a *accessAction) flags(fs *flag.FlagSet) {
	fs.StringVar(&a.data, "data", "", "the data is in the folder `DIR`; "+usualData)
	fs.StringVar(&a.firm, "firm", "", "the firm with that `ID`; without it the first of the data folder")
	a.log.flags(fs)
}

func (a *accessAction) run(ctx context.Context, p program, args []string) error {
	listing := len(args) == 1 && args[0] == "list"
	if !listing && (len(args) == 0 || len(args) > 2 || args[0] != "link") {
		return usagef("say list, or link and for whom; names of several words go in quotes")
	}
	set, err := readBeside(a.data, p.env)
	if err != nil {
		return err
	}
	firm, err := a.firmOf(set)
	if err != nil {
		return err
	}
	s, err := openDatabase(ctx, set, a.log.logger(p.stderr))
	if err != nil {
		return err
	}
	if listing {
		err = listPeople(ctx, p, s.jobs, firm)
	} else {
		err = printLink(ctx, p, s.jobs, firm, strings.Join(args[1:], ""), set.publicURL(""))
	}
	return errors.Join(err, s.Close())
}

// firmOf is the firm that is meant.
func (a *accessAction) firmOf(set settings) (events.ID, error) {
	if a.firm == "" {
		first, err := readAccess(accessPath(set.data))
		if err != nil {
			return events.ID{}, usagef("say --firm: the data folder has no first firm (%v)", err)
		}
		return first.Firm.ID, nil
	}
	id, err := events.ParseID(a.firm)
	if err != nil {
		return id, usageError{err}
	}
	return id, nil
}

func listPeople(ctx context.Context, p program, store jobs.Store, firm events.ID) error {
	people, err := store.ListPeople(ctx, firm)
	if err != nil {
		return err
	}
	accounts, err := store.ListAccounts(ctx, firm)
	if err != nil {
		return err
	}
	names := map[events.ID]string{}
	for _, a := range accounts {
		names[a.Person] = a.Name
	}
	w := tabwriter.NewWriter(p.stdout, 0, 0, 2, ' ', 0)
	for _, one := range people {
		how := names[one.ID]
		switch {
		case !one.LeftAt.IsZero():
			how = "has left"
		case how == "":
			how = "no account"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", one.ID, one.Name, one.Role, how)
	}
	return w.Flush()
}

// printLink makes a link for somebody, or without a name for somebody new.
func printLink(ctx context.Context, p program, store jobs.Store, firm events.ID, whom, url string) error {
	i := jobs.Invitation{Firm: firm, Purpose: jobs.First}
	if whom != "" {
		one, err := findPerson(ctx, store, firm, whom)
		if err != nil {
			return err
		}
		i.Purpose, i.Person = jobs.Invited, one.ID
		if _, err := store.FindAccount(ctx, firm, one.ID); err == nil {
			i.Purpose = jobs.Reset
		} else if !errors.Is(err, events.ErrNotFound) {
			return err
		}
	}
	link, err := newLink(ctx, store, i, time.Now())
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "%s\n", invitationLink(url, link))
	return err
}

// findPerson finds one of a firm by id, name or the address that they sign in by.
func findPerson(ctx context.Context, store jobs.Store, firm events.ID, whom string) (found jobs.Person, err error) {
	people, err := store.ListPeople(ctx, firm)
	if err != nil {
		return found, err
	}
	account, err := store.FindAccountByName(ctx, firm, jobs.HashName(strings.ToLower(whom)))
	if err != nil && !errors.Is(err, events.ErrNotFound) {
		return found, err
	}
	n := 0
	for _, one := range people {
		if one.ID.String() == whom || one.Name == whom || (err == nil && one.ID == account.Person) {
			found = one
			n++
		}
	}
	if n != 1 {
		return found, fmt.Errorf("%d people are called %q: see relevel access list", n, whom)
	}
	return found, nil
}

// newLink makes a one-time link, notes that it was made here, and returns the part of
// it behind the #.
func newLink(ctx context.Context, store jobs.Store, i jobs.Invitation, now time.Time) (string, error) {
	now = now.UTC().Truncate(time.Millisecond)
	secret, hash, err := jobs.NewInvitation(i.Firm, rand.Reader)
	if err != nil {
		return "", err
	}
	i.Hash, i.CreatedAt, i.ExpiresAt = hash, now, now.Add(i.Purpose.Lasts())
	if i.ID, err = events.NewID(now, rand.Reader); err != nil {
		return "", err
	}
	if err := store.CreateInvitation(ctx, i); err != nil {
		return "", err
	}
	made := jobs.Trace{ID: i.ID, At: now, What: jobs.InvitationMade, About: i.Person, Detail: string(i.Purpose) + ", on the server itself"}
	return secret, store.AppendTraces(ctx, i.Firm, []jobs.Trace{made})
}

// begin returns the link for the first person, "" when somebody has an account. One
// that was not used stays the same until it is past its time.
func (a access) begin(ctx context.Context, path string, store jobs.Store, now time.Time) (string, error) {
	accounts, err := store.ListAccounts(ctx, a.Firm.ID)
	if err != nil || len(accounts) > 0 {
		return "", err
	}
	if firm, hash, err := jobs.ParseInvitation(a.Link); err == nil {
		_, err := store.FindInvitation(ctx, firm, hash, now)
		if !errors.Is(err, events.ErrNotFound) {
			return a.Link, err
		}
	}
	if a.Link, err = newLink(ctx, store, jobs.Invitation{Firm: a.Firm.ID, Purpose: jobs.First}, now); err != nil {
		return "", err
	}
	return a.Link, writeFile(path, a)
}
