package main

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// access is a firm and a token for it. The embedded default keeps its first one
// in its data folder, beside the data that it opens, so that whoever may read
// the folder can enter.
type access struct {
	Firm   jobs.Firm    `json:"firm"`
	Token  string       `json:"token"`            // for programs
	Person *jobs.Person `json:"person,omitempty"` // in whose name the token is, where it is in somebody's
	Link   string       `json:"link,omitempty"`   // with which the first person makes their account, until they have
}

// accessPath is where a data folder keeps its first access.
func accessPath(dir string) string { return filepath.Join(dir, "access.json") }

// newAccess makes up a firm and a token. Nothing is stored yet.
func newAccess(name string, words jobs.Region, now time.Time) (access, error) {
	id, err := events.NewID(now, rand.Reader)
	if err != nil {
		return access{}, err
	}
	firm := jobs.Firm{ID: id, Name: name, Words: words, CreatedAt: now.UTC().Truncate(time.Millisecond)}
	if err := firm.Check(); err != nil {
		return access{}, err
	}
	token, _, err := jobs.NewToken(id, rand.Reader)
	return access{Firm: firm, Token: token}, err
}

// firstAccess returns the access that is kept in a data folder, and makes it
// the first time, in the name of one of the office if one is given. The file is
// written before the database knows of it, and the database is told each time, so
// that a crash in between mends itself.
func firstAccess(ctx context.Context, dir, name, office string, store jobs.Store) (access, error) {
	path := accessPath(dir)
	a, err := readAccess(path)
	if errors.Is(err, os.ErrNotExist) {
		if a, err = newAccess(name, jobs.Australia, time.Now()); err == nil && office != "" {
			a.Person, err = newOffice(office, a.Firm.CreatedAt)
		}
		if err == nil {
			err = writeFile(path, a)
		}
	}
	if err != nil {
		return access{}, fmt.Errorf("find the first firm: %w", err)
	}
	return a, a.register(ctx, store)
}

func newOffice(name string, now time.Time) (*jobs.Person, error) {
	id, err := events.NewID(now, rand.Reader)
	return &jobs.Person{ID: id, Name: name, Role: jobs.Office, CreatedAt: now}, err
}

func readAccess(path string) (access, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return access{}, err
	}
	var a access
	if err := json.Unmarshal(text, &a); err != nil {
		return access{}, fmt.Errorf("read %s: %w", path, err)
	}
	return a, nil
}

// writeFile writes a value as JSON for this account's eyes, wholly or not at all.
func writeFile(path string, v any) error {
	text, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	fresh := path + ".new"
	if err := os.WriteFile(fresh, append(text, '\n'), 0o600); err != nil {
		return err
	}
	return os.Rename(fresh, path)
}

// register makes the firm and its token known to a store. It may be repeated.
func (a access) register(ctx context.Context, store jobs.Store) error {
	// Its first person may have given the firm another name since.
	if _, err := store.FindFirm(ctx, a.Firm.ID); errors.Is(err, events.ErrNotFound) {
		if err := store.CreateFirm(ctx, a.Firm); err != nil {
			return err
		}
	} else if err != nil {
		return err
	}
	if a.Person == nil {
		return registerToken(ctx, store, a.Token, "first token", events.ID{}, a.Firm.CreatedAt)
	}
	if _, err := store.FindPerson(ctx, a.Firm.ID, a.Person.ID); errors.Is(err, events.ErrNotFound) {
		one := *a.Person
		one.Firm = a.Firm.ID
		if err := store.CreatePerson(ctx, one); err != nil {
			return err
		}
	} else if err != nil {
		return err
	}
	return registerToken(ctx, store, a.Token, "first token", a.Person.ID, a.Firm.CreatedAt)
}

// registerToken makes a token known by its hash, unless it is.
func registerToken(ctx context.Context, store jobs.Store, token, name string, person events.ID, now time.Time) error {
	firm, hash, err := jobs.ParseToken(token)
	if err != nil {
		return err
	}
	_, err = store.FindToken(ctx, firm, hash)
	if !errors.Is(err, events.ErrNotFound) {
		return err
	}
	id, err := events.NewID(now, rand.Reader)
	if err != nil {
		return err
	}
	return store.CreateToken(ctx, jobs.Token{Firm: firm, ID: id, Hash: hash, Name: name, Scope: jobs.ScopeEverything, Person: person, CreatedAt: now.UTC().Truncate(time.Millisecond)})
}
