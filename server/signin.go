package server

import (
	"context"
	"errors"
	"io"
	"net/http"
	"strings"

	"relevel/events"
	"relevel/jobs"
)

// hashAtOnce is how many passwords are hashed at once: 76 MiB.
const hashAtOnce = 4

var (
	errTooManyTries = refuse(http.StatusTooManyRequests, "Too many tries: wait a few seconds and try again.")
	errTooMuchTaken = refuse(http.StatusTooManyRequests, "That was asked for often just now: wait some minutes and try again.")
	errNotOpened    = errors.New("the name and the password open nothing")
)

// opened is what a name and a password open.
type opened struct {
	accounts []jobs.Account
	names    []string // of their firms
}

// candidate is an account that a name leads to.
type candidate struct {
	jobs.Account
	here bool // its owner signed in on this browser before
}

// open finds the accounts that a name and a password open, in all firms or in one. For
// a name that nobody has it asks and reckons as much as for one of somebody's, so that
// neither the answer nor its time tells which it is.
func (s *Server) open(r *http.Request, name, password string, only events.ID) (opened, error) {
	all, err := s.accountsOf(r, name)
	if err != nil {
		return opened{}, err
	}
	accounts, err := s.mayTry(r, jobs.HashName(name), all)
	if err != nil {
		return opened{}, err
	}
	hashes := make([]string, len(accounts))
	for i, a := range accounts {
		hashes[i] = a.Password
	}
	matches, err := s.config.Passwords.Match(r.Context(), password, hashes)
	if err != nil {
		return opened{}, err
	}
	var out opened
	for i, a := range accounts {
		if matches[i] && (only.IsZero() || a.Firm == only) {
			out.accounts = append(out.accounts, a)
		}
	}
	if len(out.accounts) > 0 {
		return out, s.nameFirms(r.Context(), &out)
	}
	for _, a := range accounts {
		s.trail.note(a.Firm, r, jobs.Trace{What: jobs.SignInFailed, About: a.Person})
	}
	if len(accounts) < len(all) {
		return out, errTooManyTries // the rest were not tried
	}
	return out, errNotOpened
}

// accountsOf finds the accounts of a name. One that leads nowhere is looked for in a
// firm that is none.
func (s *Server) accountsOf(r *http.Request, name string) (all []candidate, err error) {
	hash, store := jobs.HashName(name), s.config.Store
	leads, err := store.FindName(r.Context(), hash)
	if err != nil {
		return nil, err
	}
	if len(leads) == 0 {
		leads = []jobs.SignIn{{Firm: s.nowhere}}
	}
	browser, _ := knownBrowser(r)
	for _, lead := range leads {
		a, err := store.FindAccountByName(r.Context(), lead.Firm, hash)
		there := err == nil
		if err != nil && !errors.Is(err, events.ErrNotFound) {
			return nil, err
		}
		here, err := store.KnowsBrowser(r.Context(), lead.Firm, a.Person, browser)
		if err != nil {
			return nil, err
		}
		if there {
			all = append(all, candidate{a, here})
		}
	}
	return all, nil
}

// mayTry takes a try into account and returns the accounts that it may open. Who signed
// in on this browser before has an allowance there, on which neither the tries from
// elsewhere count nor those of others behind one address. It is for their own account
// alone: another firm may have made one under the same name, for whomever it likes.
func (s *Server) mayTry(r *http.Request, name events.Digest, all []candidate) ([]jobs.Account, error) {
	var every, here []jobs.Account
	for _, one := range all {
		every = append(every, one.Account)
		if one.here {
			here = append(here, one.Account)
		}
	}
	stranger := len(every) == 0 || len(here) < len(every)
	if stranger {
		err := s.doors.addresses.enter(r.Context(), s.senderNetwork(r))
		if err == nil {
			err = s.doors.names.enter(r.Context(), string(name[:]))
		}
		if err == nil || !errors.Is(err, errTooManyTries) {
			return every, err
		}
	}
	if len(here) == 0 {
		return nil, errTooManyTries
	}
	browser, _ := knownBrowser(r)
	return here, s.doors.names.enter(r.Context(), string(browser[:])+string(name[:]))
}

func (s *Server) nameFirms(ctx context.Context, o *opened) error {
	for _, a := range o.accounts {
		f, err := s.config.Store.FindFirm(ctx, a.Firm)
		if err != nil {
			return err
		}
		o.names = append(o.names, f.Name)
	}
	return nil
}

// signInAs signs a browser in for the owner of an account, whose password is left out
// where something else opened it.
func (s *Server) signInAs(w http.ResponseWriter, r *http.Request, a jobs.Account, how string) error {
	if err := s.signIn(w, r, jobs.Session{Firm: a.Firm, Person: a.Person}, a.Password); err != nil {
		return err
	}
	s.trail.note(a.Firm, r, jobs.Trace{What: jobs.SignedIn, By: a.Person, Detail: how})
	return nil
}

// setPassword keeps a password as the one of an account; other sessions end.
func (s *Server) setPassword(ctx context.Context, a jobs.Account, password string, except events.ID) (err error) {
	if a.Password, err = s.hashFor(ctx, a, password); err != nil {
		return err
	}
	return s.config.Store.SaveAccount(ctx, a, except, s.stamp())
}

// hashFor leads an account's name to its firm and hashes a password by that name's
// salt.
func (s *Server) hashFor(ctx context.Context, a jobs.Account, password string) (string, error) {
	var fresh jobs.Salt
	if _, err := io.ReadFull(s.config.Random, fresh[:]); err != nil {
		return "", err
	}
	salt, err := s.config.Store.ClaimName(ctx, a.NameHash(), a.Firm, fresh)
	if err != nil {
		return "", err
	}
	return s.config.Passwords.Hash(ctx, password, salt)
}

// agentOf is what a browser calls itself, as far as it helps to tell one's own apart.
func agentOf(r *http.Request) string {
	agent := strings.Map(func(c rune) rune {
		if c < ' ' || c > '~' {
			return -1
		}
		return c
	}, r.UserAgent())
	return agent[:min(len(agent), 200)]
}
