package dirphotos_test

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/dirphotos"
	"relevel/events/eventstest"
)

func open(t *testing.T, folder string) *dirphotos.Store {
	t.Helper()
	s, err := dirphotos.Open(folder)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func object(t *testing.T, text string) (events.Object, *bytes.Reader) {
	sum := events.Digest(sha256.Sum256([]byte(text)))
	key := events.Key{Firm: eventstest.NewFirm(t), SHA256: sum}
	return events.Object{Key: key, Bytes: int64(len(text)), SHA256: sum}, bytes.NewReader([]byte(text))
}

// files lists what lies in a folder, as slash paths below it.
func files(t *testing.T, folder string) []string {
	t.Helper()
	var names []string
	err := fs.WalkDir(os.DirFS(folder), ".", func(name string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			names = append(names, name)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

func TestObjects(t *testing.T) {
	eventstest.Objects(t, func(t *testing.T) events.Objects { return open(t, t.TempDir()) })
}

func TestLayoutOK(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "made", "when missing")
	s := open(t, folder)
	o, body := object(t, "a photo")
	if _, err := s.Put(t.Context(), o, body); err != nil {
		t.Fatal(err)
	}
	sum := o.SHA256.String()
	want := o.Key.Firm.String() + "/" + sum[:2] + "/" + sum
	if got := files(t, folder); len(got) != 1 || got[0] != want {
		t.Errorf("folder holds %q, want only %q", got, want)
	}
	info, err := os.Stat(filepath.Join(folder, want))
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode = %v, %v; want it readable by its owner alone", info.Mode(), err)
	}
}

func TestReopenKeeps(t *testing.T) {
	folder := t.TempDir()
	o, body := object(t, "a photo")
	first := open(t, folder)
	if _, err := first.Put(t.Context(), o, body); err != nil {
		t.Fatal(err)
	}
	first.Close()
	if size, err := open(t, folder).Stat(t.Context(), o.Key); err != nil || size != o.Bytes {
		t.Errorf("Stat after reopening = %d, %v; want %d", size, err, o.Bytes)
	}
}

func TestOpenCleansCrashLeftovers(t *testing.T) {
	folder := t.TempDir()
	open(t, folder)
	old, young := filepath.Join(folder, "tmp", "old"), filepath.Join(folder, "tmp", "young")
	for _, name := range []string{old, young} {
		if err := os.WriteFile(name, []byte("half a pho"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	yesterday := time.Now().Add(-24 * time.Hour)
	if err := os.Chtimes(old, yesterday, yesterday); err != nil {
		t.Fatal(err)
	}
	open(t, folder)
	if got := files(t, folder); len(got) != 1 || got[0] != "tmp/young" {
		t.Errorf("after opening again the folder holds %q, want only the upload that may be at work", got)
	}
}

// TestLinksStayInside puts links where the store would write or read, pointing
// at a folder outside.
func TestLinksStayInside(t *testing.T) {
	outside, folder := t.TempDir(), t.TempDir()
	s := open(t, folder)
	o, body := object(t, "a photo")
	sum := o.SHA256.String()
	secret := filepath.Join(outside, sum[:2], sum)
	if err := os.MkdirAll(filepath.Dir(secret), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(outside, filepath.Join(folder, o.Key.Firm.String())); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Put(t.Context(), o, body); !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("Put through a link = %v, want ErrUnavailable", err)
	}
	if got := files(t, outside); len(got) != 0 {
		t.Errorf("written outside: %q", got)
	}
	if err := os.WriteFile(secret, []byte("private"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, _, err := s.Open(t.Context(), o.Key); err == nil {
		t.Error("Open followed a link to the outside")
	}
	if left := files(t, filepath.Join(folder, "tmp")); len(left) != 0 {
		t.Errorf("left in tmp: %q", left)
	}
}

func TestPutIntoLostFolder(t *testing.T) {
	folder := t.TempDir()
	s := open(t, folder)
	if err := os.RemoveAll(filepath.Join(folder, "tmp")); err != nil {
		t.Fatal(err)
	}
	o, body := object(t, "a photo")
	_, err := s.Put(t.Context(), o, body)
	if !errors.Is(err, events.ErrUnavailable) || !strings.Contains(err.Error(), "create file") {
		t.Errorf("Put = %v, want ErrUnavailable that names the step", err)
	}
}

// Whoever asks whether photos can be taken is told of a folder that takes none, and
// asking leaves nothing behind.
func TestReady(t *testing.T) {
	folder := t.TempDir()
	s := open(t, folder)
	if err := s.Ready(t.Context()); err != nil {
		t.Errorf("a folder that is there: %v", err)
	}
	if left := files(t, folder); len(left) != 0 {
		t.Errorf("left behind: %q", left)
	}
	if err := os.RemoveAll(filepath.Join(folder, "tmp")); err != nil {
		t.Fatal(err)
	}
	if err := s.Ready(t.Context()); !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("a folder that is gone: %v, want ErrUnavailable", err)
	}
}
