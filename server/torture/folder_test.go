package torture_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"relevel/events"
	"relevel/events/dirphotos"
)

// What the keeper puts into a folder, some of it twice, and takes out of it.
var keepsakes = []string{"put 0", "put 1", "put 0", "put 2", "delete 1"}

func keepsake(step string) (events.Object, []byte) {
	body := bytes.Repeat([]byte("photo "+step[len(step)-1:]+" "), 10_000)
	sum := events.Digest(sha256.Sum256(body))
	return events.Object{Key: events.Key{Firm: events.ID{1}, SHA256: sum}, Bytes: int64(len(body)), SHA256: sum, Media: events.MediaJPEG}, body
}

// keep is a process that keeps photos in a folder, and says after each step that it is
// done.
func keep(folder string) {
	store, err := dirphotos.Open(folder)
	orPanic(err)
	for _, step := range keepsakes {
		o, body := keepsake(step)
		if strings.HasPrefix(step, "put") {
			_, err := store.Put(context.Background(), o, bytes.NewReader(body))
			orPanic(err)
		} else {
			orPanic(store.Delete(context.Background(), o.Key))
		}
		fmt.Println(step)
	}
}

// A process is killed at some of its system calls on a folder of photos; `make torture`
// has all of them. What it acknowledged is there, also where the power went at that
// moment, and of the rest a whole photo or none.
func TestFolderKilled(t *testing.T) {
	t.Parallel()
	if !alone(t) { // whoever follows system calls hears of all children of a thread
		return
	}
	dice := rand.New(rand.NewPCG(3, 0))
	for range 20 {
		strikeFolder(t, 1+dice.Int64N(60), []phase{before, after}[dice.IntN(2)])
	}
}

// strikeFolder kills the keeper at a system call. It reports whether it came so far.
func strikeFolder(t testing.TB, at int64, when phase) (sprung bool) {
	t.Helper()
	if when == sent {
		return false // a system call has no middle
	}
	folder, left := t.TempDir(), t.TempDir()
	k := &kernel{folder: folder, disk: newDisk(folder), trap: &trap{at: at, when: when}}
	said, err := k.run(beKeeper, folder)
	must(t, err)
	must(t, k.disk.write(left))
	for name, dir := range map[string]string{"process": folder, "power": left} {
		for _, fault := range lookAtKeepsakes(dir, said) {
			t.Errorf("the %s gone %s call %d, after %q: %s", name, when, at, said, fault)
		}
	}
	return k.trap.over()
}

// lookAtKeepsakes holds a folder to the steps that were done. The next may have been done
// too.
func lookAtKeepsakes(folder string, said []string) (faults []string) {
	store, err := dirphotos.Open(folder)
	if err != nil {
		return []string{err.Error()}
	}
	defer store.Close()
	for _, name := range []string{"0", "1", "2"} {
		o, want := keepsake("put " + name)
		body, _, err := store.Open(context.Background(), o.Key)
		if errors.Is(err, events.ErrNotFound) {
			next := len(said) < len(keepsakes) && keepsakes[len(said)] == "delete "+name
			if slices.Contains(said, "put "+name) && !slices.Contains(said, "delete "+name) && !next {
				faults = append(faults, "photo "+name+" is missing")
			}
			continue
		}
		if err != nil {
			faults = append(faults, err.Error())
			continue
		}
		if slices.Contains(said, "delete "+name) {
			faults = append(faults, "photo "+name+" is there again")
		}
		got, err := io.ReadAll(body)
		body.Close()
		if err != nil || !bytes.Equal(got, want) {
			faults = append(faults, fmt.Sprintf("photo %s is %d bytes, %v", name, len(got), err))
		}
	}
	return faults
}

// disk is what of a folder is certain to outlive the power: of each folder the names that
// it had when it was synced, and of each file the bytes. A disk may have kept more.
type disk struct {
	root  uint64
	names map[uint64]map[string]kept // of folders, by their inodes
	bytes map[uint64][]byte          // of files
}

// kept is what a folder has under a name.
type kept struct {
	inode  uint64
	folder bool
}

func newDisk(folder string) *disk {
	d := &disk{names: map[uint64]map[string]kept{}, bytes: map[uint64][]byte{}}
	d.root = inode(folder)
	return d
}

// sync takes what a path has now for certain.
func (d *disk) sync(path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if !info.IsDir() {
		d.bytes[inode(path)], err = os.ReadFile(path)
		return err
	}
	entries, err := os.ReadDir(path)
	names := map[string]kept{}
	for _, e := range entries {
		names[e.Name()] = kept{inode(filepath.Join(path, e.Name())), e.IsDir()}
	}
	d.names[inode(path)] = names
	return err
}

// write makes a folder of what is certain. A file that was never synced is empty.
func (d *disk) write(folder string) error { return d.writeOne(d.root, folder) }

func (d *disk) writeOne(folder uint64, at string) error {
	for name, n := range d.names[folder] {
		path := filepath.Join(at, name)
		if !n.folder {
			if err := os.WriteFile(path, d.bytes[n.inode], 0o600); err != nil {
				return err
			}
			continue
		}
		if err := os.Mkdir(path, 0o700); err != nil {
			return err
		}
		if err := d.writeOne(n.inode, path); err != nil {
			return err
		}
	}
	return nil
}
