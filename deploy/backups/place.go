package backups

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"relevel/events"
	"relevel/events/dirphotos"
)

const (
	photoFolder = "photos"
	walFolder   = "wal"
	partSuffix  = ".part"
)

// ErrNone says that a folder holds no complete backup.
var ErrNone = errors.New("there is no complete backup")

// Place is a folder of backups that this process writes into.
type Place struct {
	dir    string
	lock   *os.File
	photos *dirphotos.Store

	receiving string // the run of WAL that is being received
}

// Open takes a folder to write backups into, makes it where it is missing, and clears
// what broke off there. Another process that does so is an error.
func Open(dir string) (*Place, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, fmt.Errorf("find the folder of backups: %w", err)
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("make the folder of backups: %w", err)
	}
	p := &Place{dir: dir}
	if p.lock, err = lock(filepath.Join(dir, ".lock")); err != nil {
		return nil, err
	}
	if err = p.clear(); err == nil {
		p.photos, err = dirphotos.Open(filepath.Join(dir, photoFolder))
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("open the folder of backups: %w", err), p.lock.Close())
	}
	return p, nil
}

// lock holds a file against other processes, until the end of this one at the latest.
func lock(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fmt.Errorf("lock the folder of backups: %w", err)
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		f.Close()
		return nil, fmt.Errorf("another backup into %s is under way: wait for it, or stop the one that follows", filepath.Dir(path))
	}
	return f, nil
}

// Close lets others write.
func (p *Place) Close() error { return errors.Join(p.photos.Close(), p.lock.Close()) }

// clear removes what broke off.
func (p *Place) clear() error {
	parts, err := filepath.Glob(filepath.Join(p.dir, "*"+partSuffix))
	if err != nil {
		return err
	}
	for _, part := range parts {
		if err := os.RemoveAll(part); err != nil {
			return err
		}
	}
	return nil
}

// begin makes the folder in which a backup comes into being.
func (p *Place) begin(now time.Time) (part string, err error) {
	part = filepath.Join(p.dir, now.UTC().Format(nameForm)+partSuffix)
	if err := os.Mkdir(part, 0o700); err != nil {
		return "", fmt.Errorf("make the backup's folder: %w", err)
	}
	return part, nil
}

// finish lists and syncs what is in the folder, writes the manifest and gives the
// backup its name, that of when its state was taken.
func (p *Place) finish(part string, m Manifest) (Manifest, error) {
	m.Format, m.MadeAt = format, m.MadeAt.UTC().Truncate(time.Millisecond)
	var err error
	if m.Files, err = list(part); err != nil {
		return m, fmt.Errorf("list what was backed up: %w", err)
	}
	for at := m.MadeAt; ; at = at.Add(time.Second) { // two within a second are told apart
		m.Name = at.Format(nameForm)
		if _, err := os.Stat(filepath.Join(p.dir, m.Name)); errors.Is(err, fs.ErrNotExist) {
			break
		}
	}
	path := filepath.Join(part, manifestName)
	err = os.WriteFile(path, m.encode(), 0o600)
	for _, step := range []func() error{
		func() error { return syncPath(path) },
		func() error { return syncPath(part) },
		func() error { return os.Rename(part, filepath.Join(p.dir, m.Name)) },
		func() error { return syncPath(p.dir) },
	} {
		if err == nil {
			err = step()
		}
	}
	if err != nil {
		return m, fmt.Errorf("finish the backup: %w", err)
	}
	return parse(m.encode())
}

// List returns the complete backups of a folder, the oldest first. One whose manifest
// cannot be read is an error, beside the others.
func List(dir string) (all []Manifest, err error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("look into the folder of backups: %w", err)
	}
	var faults []error
	for _, e := range entries {
		if _, err := time.Parse(nameForm, e.Name()); err != nil || !e.IsDir() {
			continue
		}
		m, err := readManifest(filepath.Join(dir, e.Name()))
		if err != nil {
			faults = append(faults, fmt.Errorf("backup %s: %w", e.Name(), err))
			continue
		}
		all = append(all, m)
	}
	slices.SortFunc(all, func(a, b Manifest) int { return strings.Compare(a.Name, b.Name) })
	return all, errors.Join(faults...)
}

// Newest returns the newest complete backup of a folder, or ErrNone.
func Newest(dir string) (Manifest, error) {
	all, err := List(dir)
	if len(all) == 0 {
		return Manifest{}, errors.Join(fmt.Errorf("%s: %w", dir, ErrNone), err)
	}
	return all[len(all)-1], nil
}

// Reach returns up to when the backups of a folder can take the database, by the clock
// of whoever made them: the newest backup's moment, or the last change that was received
// since. Without a complete one it is ErrNone.
func Reach(dir string) (time.Time, error) {
	all, err := List(dir)
	if len(all) == 0 {
		return time.Time{}, errors.Join(fmt.Errorf("%s: %w", dir, ErrNone), err)
	}
	var last time.Time
	for _, m := range all {
		if at := reach(dir, m); at.After(last) {
			last = at
		}
	}
	return last, nil
}

// Prune keeps the newest backups, this many and at least one, and what they need of
// photos and WAL. A photo that none of them lists goes if it was there before the
// newest was made: somebody had it erased.
func (p *Place) Prune(ctx context.Context, keep int) (removed int, err error) {
	all, err := List(p.dir)
	if err != nil {
		return 0, fmt.Errorf("nothing was removed: %w", err)
	}
	kept := all[max(0, len(all)-max(keep, 1)):]
	for _, m := range all[:len(all)-len(kept)] {
		// The manifest goes first: without it the rest is no backup.
		folder := filepath.Join(p.dir, m.Name)
		if err := errors.Join(os.Remove(filepath.Join(folder, manifestName)), os.Rename(folder, folder+partSuffix), os.RemoveAll(folder+partSuffix)); err != nil {
			return removed, fmt.Errorf("remove the backup %s: %w", m.Name, err)
		}
		removed++
	}
	if removed == 0 || len(kept) == 0 {
		return removed, nil
	}
	return removed, errors.Join(p.prunePhotos(ctx, kept), p.pruneWAL(kept))
}

func (p *Place) prunePhotos(ctx context.Context, kept []Manifest) error {
	wanted := map[events.Key]bool{}
	for _, m := range kept {
		photos, err := readPhotos(filepath.Join(p.dir, m.Name))
		if err != nil {
			return err
		}
		for _, k := range photos {
			wanted[events.Key{Firm: k.Firm, SHA256: k.SHA256}] = true
		}
	}
	newest := kept[len(kept)-1].MadeAt
	for o, err := range p.photos.List(ctx) {
		if err != nil {
			return fmt.Errorf("look over the photos of the backups: %w", err)
		}
		if wanted[o.Key] || o.Key.Firm.IsZero() || !o.At.Before(newest) {
			continue
		}
		if err := p.photos.Delete(ctx, o.Key); err != nil {
			return err
		}
	}
	return nil
}

// Photos is the folder in which a folder of backups has its photos, as package
// dirphotos lays them out.
func Photos(dir string) string { return filepath.Join(dir, photoFolder) }
