// Package signing signs the heads of logs, after checking that each continues what was
// signed before.
package signing

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"golang.org/x/mod/sumdb/note"

	"relevel/events/proof"
	"relevel/levelling"
)

// Key is one key of a server. Its secret half goes when it is retired: nobody signs
// with it again, and what it signed can be checked for ever.
type Key struct {
	proof.PublicKey
	Secret string // as note writes it; "" of a retired one
}

// Ring is the file in which a server keeps its keys. Several may be in use while one
// is replaced. Whoever else changes the file is heard at the next look.
type Ring struct {
	path string

	mu   sync.Mutex
	read os.FileInfo // when keys were
	keys []Key
}

const ringHeading = `# The keys that sign what this server keeps. Whoever has this file can sign in its name.
# A line is a key, since when and until when; of a retired one only the public half is left.
`

// OpenRing opens a file of keys, and makes it with one key under a server's name where
// it is missing.
func OpenRing(path, server string, now time.Time, random io.Reader) (*Ring, error) {
	r := &Ring{path: path}
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		key, err := newKey(server, now, random)
		if err != nil {
			return nil, err
		}
		if err := place(path, []Key{key}, os.Link); err != nil && !errors.Is(err, fs.ErrExist) { // another server was first
			return nil, fmt.Errorf("make the file of keys: %w", err)
		}
	}
	_, err := r.Keys()
	return r, err
}

// Find opens a file of keys that is to be there.
func Find(path string) (*Ring, error) {
	r := &Ring{path: path}
	_, err := r.Keys()
	return r, err
}

// Keys returns all, in the order of the file: the oldest first.
func (r *Ring) Keys() ([]Key, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if err := r.load(); err != nil {
		return nil, err
	}
	return slices.Clone(r.keys), nil
}

// load reads the file again where it is another than the one that was read.
func (r *Ring) load() error {
	info, err := os.Stat(r.path)
	if err != nil {
		return fmt.Errorf("read the keys: %w", err)
	}
	if r.read != nil && os.SameFile(info, r.read) && info.ModTime().Equal(r.read.ModTime()) && info.Size() == r.read.Size() {
		return nil
	}
	if info.Mode().Perm()&0o077 != 0 {
		return fmt.Errorf("read the keys: others may read %s: chmod 600 it", r.path)
	}
	text, err := os.ReadFile(r.path)
	if err != nil {
		return fmt.Errorf("read the keys: %w", err)
	}
	keys, err := parseRing(string(text))
	if err != nil {
		return fmt.Errorf("read the keys in %s: %w", r.path, err)
	}
	r.read, r.keys = info, keys
	return nil
}

// Signers returns the keys in use, the oldest first, and the name under which a server
// signs: that of the first.
func (r *Ring) Signers() (server string, signers []note.Signer, err error) {
	keys, err := r.Keys()
	if err != nil {
		return "", nil, err
	}
	for _, k := range keys {
		if k.Secret == "" {
			continue
		}
		s, err := note.NewSigner(k.Secret)
		if err != nil {
			return "", nil, fmt.Errorf("use a key: %w", err)
		}
		signers = append(signers, s)
	}
	if len(signers) == 0 {
		return "", nil, errors.New("there is no key in use: relevel keys new makes one")
	}
	return signers[0].Name(), signers, nil
}

// Add makes another key, in use beside the others from now on.
func (r *Ring) Add(server string, now time.Time, random io.Reader) (Key, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if err := r.load(); err != nil {
		return Key{}, err
	}
	key, err := newKey(server, now, random)
	if err != nil {
		return Key{}, err
	}
	return key, place(r.path, append(slices.Clone(r.keys), key), os.Rename)
}

// Retire ends the use of a key and forgets its secret half. The last one in use stays.
func (r *Ring) Retire(id string, now time.Time) (Key, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if err := r.load(); err != nil {
		return Key{}, err
	}
	keys := slices.Clone(r.keys)
	at := slices.IndexFunc(keys, func(k Key) bool { return k.ID() == id })
	inUse := 0
	for _, k := range keys {
		if k.Secret != "" {
			inUse++
		}
	}
	switch {
	case at < 0:
		return Key{}, levelling.Bad("key", "no key is called "+id+": relevel keys list names them")
	case keys[at].Secret == "":
		return keys[at], nil
	case inUse == 1:
		return Key{}, levelling.Bad("key", "it is the only one in use: make another first, with relevel keys new")
	}
	keys[at].Secret, keys[at].Until = "", now.UTC().Truncate(time.Second)
	return keys[at], place(r.path, keys, os.Rename)
}

func newKey(server string, now time.Time, random io.Reader) (Key, error) {
	secret, verifier, err := proof.GenerateKey(random, server)
	if err != nil {
		return Key{}, fmt.Errorf("make a key: %w", err)
	}
	return Key{PublicKey: proof.PublicKey{Verifier: verifier, From: now.UTC().Truncate(time.Second)}, Secret: secret}, nil
}

// place writes the file aside, for this account's eyes, and puts it where it belongs,
// wholly or not at all.
func place(path string, keys []Key, put func(from, to string) error) error {
	aside, err := os.CreateTemp(filepath.Dir(path), ".keys-*") // mode 0600
	if err != nil {
		return err
	}
	defer os.Remove(aside.Name())
	_, err = aside.WriteString(ringText(keys))
	if err := errors.Join(err, aside.Sync(), aside.Close()); err != nil {
		return err
	}
	if err := put(aside.Name(), path); err != nil {
		return err
	}
	folder, err := os.Open(filepath.Dir(path))
	if err != nil {
		return err
	}
	return errors.Join(folder.Sync(), folder.Close())
}

// ringText is the file: the lines of proof.KeysText, with secrets for public halves
// where there are any.
func ringText(keys []Key) string {
	var b strings.Builder
	b.WriteString(ringHeading)
	for _, k := range keys {
		line := proof.KeysText([]proof.PublicKey{k.PublicKey})
		if k.Secret != "" {
			line = k.Secret + strings.TrimPrefix(line, k.Verifier)
		}
		b.WriteString(line)
	}
	return b.String()
}

func parseRing(text string) ([]Key, error) {
	var keys []Key
	for line := range strings.Lines(text) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		key, err := parseKey(line)
		if err != nil {
			return nil, err
		}
		keys = append(keys, key)
	}
	slices.SortStableFunc(keys, func(a, b Key) int { return cmp.Compare(a.From.Unix(), b.From.Unix()) })
	return keys, nil
}

// parseKey reads one line. What is wrong with a secret is said without it.
func parseKey(line string) (Key, error) {
	first, rest, _ := strings.Cut(line, " ")
	if !strings.HasPrefix(first, "PRIVATE+KEY+") {
		public, err := proof.ParseKeys(line)
		if err != nil || len(public) != 1 || public[0].Until.IsZero() {
			return Key{}, errors.New("a line is neither a key in use nor a retired one")
		}
		return Key{PublicKey: public[0]}, nil
	}
	verifier, err := publicHalf(first)
	if err != nil {
		return Key{}, errors.New("a line holds no usable key")
	}
	public, err := proof.ParseKeys(verifier + " " + rest)
	if err != nil || len(public) != 1 || !public[0].Until.IsZero() {
		return Key{}, errors.New("a key in use says since when, and a hyphen")
	}
	return Key{PublicKey: public[0], Secret: first}, nil
}
