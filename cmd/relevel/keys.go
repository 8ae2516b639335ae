package main

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"
	"unicode"

	"relevel/server/signing"
)

var keysCommand = command{
	name:  "keys",
	brief: "list, make or retire the keys that sign what the server keeps",
	usage: "[--data DIR] list | new | retire KEY",
	about: `A server signs the state of each job's log, so that anybody can check later that
nothing was changed. It makes its key at the first start and keeps it in the data
folder, or in the file that ` + envSigning + ` names; it is in no database. Whoever
has the file can sign in the server's name; whoever loses it makes another key, and
what was signed before can still be checked.

list shows the public half of every key, to write down elsewhere. new makes another
key: from then on both sign, so that whoever knows either can check. retire ends the
use of one and forgets its secret half; KEY is its name as list shows it, up to the
second plus. A running server sees the change by itself. Servers that share one
database may share one file, or have one each.`,
	env: []variable{
		{envSigning, "the file of keys, which only this account may read (signing-keys in the data folder unless given)"},
		urlVariable,
	},
	examples: []string{"relevel keys list", "relevel keys new", "relevel keys retire levels.example+033de0ae"},
	new:      func() action { return &keysAction{} },
}

type keysAction struct{ data string }

func (a *keysAction) flags(fs *flag.FlagSet) {
	fs.StringVar(&a.data, "data", "", "the data is in the folder `DIR`; "+usualData)
}

func (a *keysAction) run(_ context.Context, p program, args []string) error {
	set, err := readSettings(a.data, p.env)
	if err != nil {
		return err
	}
	switch {
	case len(args) == 1 && args[0] == "list":
		return a.list(p.stdout, set)
	case len(args) == 1 && args[0] == "new":
		return a.make(p.stdout, set)
	case len(args) == 2 && args[0] == "retire":
		return a.retire(p.stdout, set, args[1])
	}
	return usagef("say list, new, or retire KEY")
}

// find opens the keys that are there.
func (a *keysAction) find(set settings) (*signing.Ring, error) {
	ring, err := signing.Find(set.signingPath())
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("there are no keys in %s yet: the first start of the server makes one, or relevel keys new", set.signingPath())
	}
	return ring, err
}

func (a *keysAction) list(w io.Writer, set settings) error {
	ring, err := a.find(set)
	if err != nil {
		return err
	}
	keys, err := ring.Keys()
	if err != nil {
		return err
	}
	for _, k := range keys {
		until := "in use"
		if !k.Until.IsZero() {
			until = "retired " + k.Until.Format(keyDay)
		}
		fmt.Fprintf(w, "%s\n  signs since %s, %s\n", k.Verifier, k.From.Format(keyDay), until)
	}
	return nil
}

const keyDay = "2 January 2006 15:04 MST"

func (a *keysAction) make(w io.Writer, set settings) error {
	ring, err := signing.Find(set.signingPath())
	if errors.Is(err, fs.ErrNotExist) {
		if ring, err = openKeys(set); err != nil {
			return err
		}
		return printLast(w, ring)
	}
	if err != nil {
		return err
	}
	if _, err := ring.Add(set.signingName(), time.Now(), rand.Reader); err != nil {
		return err
	}
	return printLast(w, ring)
}

// printLast prints the newest key.
func printLast(w io.Writer, ring *signing.Ring) error {
	keys, err := ring.Keys()
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "%s\nIt signs from the next checkpoint on, beside any others.\n", keys[len(keys)-1].Verifier)
	return err
}

func (a *keysAction) retire(w io.Writer, set settings, id string) error {
	ring, err := a.find(set)
	if err != nil {
		return err
	}
	k, err := ring.Retire(id, time.Now())
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "%s signs no more. What it signed can still be checked.\n", k.ID())
	return err
}

// signingPath is the file of keys.
func (s settings) signingPath() string {
	return cmp.Or(s.signing, filepath.Join(s.data, "signing-keys"))
}

// signingName is the name that a new key signs under: where people reach the server, or
// else what this machine is called.
func (s settings) signingName() string {
	if u, err := url.Parse(s.url); err == nil && u.Host != "" {
		return plainName(u.Host + strings.TrimSuffix(u.Path, "/"))
	}
	host, err := os.Hostname()
	if err != nil || host == "" {
		host = "relevel"
	}
	return plainName(host)
}

// plainName is a name as C2SP's signed-note has them, without spaces and plus.
func plainName(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || r == '+' || r < ' ' {
			return '-'
		}
		return r
	}, strings.ToValidUTF8(name, "-"))
}

// openKeys opens the file of keys and makes it the first time.
func openKeys(set settings) (*signing.Ring, error) {
	path := set.signingPath()
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, err
	}
	return signing.OpenRing(path, set.signingName(), time.Now(), rand.Reader)
}

// serverKeys are the keys that a server signs with. One that was given is needed; where
// none was and the data folder takes none, as on a disk that nobody may write to, the
// server works and signs nothing.
func serverKeys(set settings, log *slog.Logger) (*signing.Ring, error) {
	ring, err := openKeys(set)
	if err != nil && set.signing == "" {
		log.Warn("nothing is signed: there are no keys", "err", err, "cure", "set "+envSigning+" to a file that is kept")
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", envSigning, err)
	}
	return ring, nil
}
