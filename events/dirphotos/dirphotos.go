// Package dirphotos keeps photos and sound notes in a folder of one machine. It
// is the embedded default. What Put acknowledged is on the disk: the file is
// written under a temporary name, synced, renamed, and its folder synced.
//
// A file lies under firm/ab/abcd…, with the first two digits of its digest in
// between, so that no folder grows beyond what people and backups like.
package dirphotos

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"time"

	"relevel/events"
)

const (
	tempDir = "tmp"
	// An upload is done in seconds; what is older was left by a crash. Younger
	// files may belong to another process that is at work on the same folder.
	staleAfter = time.Hour
)

// Store is an events.Objects in a folder.
type Store struct {
	root *os.Root // refuses every path that would leave the folder, links included
}

// Open opens the folder, making it if it is missing, and removes what earlier
// crashes left half written. Close the store when done.
func Open(folder string) (*Store, error) {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, fmt.Errorf("make photo folder: %w", err)
	}
	root, err := os.OpenRoot(folder)
	if err != nil {
		return nil, fmt.Errorf("open photo folder: %w", err)
	}
	s := &Store{root: root}
	if err := s.clean(time.Now().Add(-staleAfter)); err != nil {
		root.Close()
		return nil, fmt.Errorf("clean photo folder: %w", err)
	}
	return s, nil
}

// Look opens a folder to read from it alone: nothing is made in it, and what is half
// written stays. Close the store when done.
func Look(folder string) (*Store, error) {
	root, err := os.OpenRoot(folder)
	if err != nil {
		return nil, fmt.Errorf("open photo folder: %w", err)
	}
	return &Store{root: root}, nil
}

// Close gives the folder free.
func (s *Store) Close() error { return s.root.Close() }

// Durable implements events.Objects: Put syncs the file and its folder.
func (s *Store) Durable() bool { return true }

// Ready reports whether the folder takes a file now: that there is a place for it on the
// disk, and that nobody has taken the folder away or made it one to be read alone.
func (s *Store) Ready(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	name := path.Join(tempDir, rand.Text())
	f, err := s.root.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return unavailable("create", err)
	}
	_, err = f.Write(make([]byte, os.Getpagesize()))
	if err := errors.Join(err, f.Close(), s.root.Remove(name)); err != nil {
		return unavailable("write", err)
	}
	return nil
}

func (s *Store) clean(before time.Time) error {
	if err := s.mkdir(tempDir); err != nil {
		return err
	}
	left, err := fs.ReadDir(s.root.FS(), tempDir)
	if err != nil {
		return err
	}
	for _, entry := range left {
		info, err := entry.Info()
		if err != nil || info.ModTime().After(before) {
			continue // gone, or at work
		}
		if err := s.root.Remove(path.Join(tempDir, entry.Name())); err != nil {
			return err
		}
	}
	return nil
}

// Put implements events.Objects.
func (s *Store) Put(ctx context.Context, o events.Object, body io.ReaderAt) (told bool, err error) {
	if err := ctx.Err(); err != nil {
		return false, err
	}
	temp := path.Join(tempDir, rand.Text())
	if err := s.write(temp, o.Bytes, &bodyReader{ctx: ctx, r: io.NewSectionReader(body, 0, o.Bytes)}); err != nil {
		return false, errors.Join(err, s.discard(temp))
	}
	if err := s.publish(temp, o.Key); err != nil {
		return false, errors.Join(unavailable("publish", err), s.discard(temp))
	}
	return false, nil
}

// write copies the body to a new file and syncs it.
func (s *Store) write(name string, size int64, body *bodyReader) error {
	f, err := s.root.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return unavailable("create", err)
	}
	defer f.Close()
	n, err := io.Copy(f, body)
	switch {
	case body.err != nil:
		return fmt.Errorf("read body: %w", body.err)
	case err != nil:
		return unavailable("write", err)
	case n != size:
		return fmt.Errorf("body of %d bytes, stated as %d", n, size)
	}
	if err := f.Sync(); err != nil {
		return unavailable("sync", err)
	}
	return nil
}

// publish gives a synced file its name. A crash before the last sync may lose
// the name, but never shows a part of the file.
func (s *Store) publish(temp string, k events.Key) error {
	folder := folderOf(k)
	if err := s.mkdir(k.Firm.String()); err != nil {
		return err
	}
	if err := s.mkdir(folder); err != nil {
		return err
	}
	if err := s.root.Rename(temp, nameOf(k)); err != nil {
		return err
	}
	return s.syncDir(folder)
}

// mkdir makes a folder and syncs the one above it, so that the new name is on
// the disk as well.
func (s *Store) mkdir(name string) error {
	err := s.root.Mkdir(name, 0o700)
	if errors.Is(err, fs.ErrExist) {
		return nil
	}
	if err != nil {
		return err
	}
	return s.syncDir(path.Dir(name))
}

func (s *Store) syncDir(name string) error {
	d, err := s.root.Open(name)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// discard removes a temporary file, if it came to be.
func (s *Store) discard(temp string) error {
	if err := s.root.Remove(temp); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return unavailable("discard", err)
	}
	return nil
}
