package backups

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"relevel/events"
)

const (
	manifestName = "manifest.json"
	format       = 1
	// nameForm makes names that sort by time.
	nameForm = "20060102T150405Z"
)

// Kind says how the database was copied.
type Kind string

// The kinds of backups.
const (
	KindDump Kind = "dump" // the tables, by pg_dump
	KindBase Kind = "base" // the whole private Postgres, by pg_basebackup
)

// Manifest says what one backup holds.
type Manifest struct {
	Format   int       `json:"format"`
	Name     string    `json:"name"` // of its folder
	Kind     Kind      `json:"kind"`
	MadeAt   time.Time `json:"made_at"` // by the database's clock: its state is that of this moment, or of a base that of any from here on
	Program  string    `json:"program"` // the version of relevel
	Schema   int       `json:"schema"`
	Postgres int       `json:"postgres"` // the major version
	Firms    int64     `json:"firms"`
	Jobs     int64     `json:"jobs"`
	Events   int64     `json:"events"`
	Photos   int64     `json:"photos"` // and sounds that are kept, in all backups of the folder together once
	Bytes    int64     `json:"photo_bytes"`
	Missing  []string  `json:"missing"`         // files that the ledger calls kept and the store did not give
	WAL      string    `json:"wal,omitempty"`   // the folder of what changed since, of a base
	Start    string    `json:"start,omitempty"` // its first segment that the base needs
	Files    []File    `json:"files"`           // sorted by name
	Seconds  float64   `json:"seconds"`
	Sum      string    `json:"sum"` // SHA-256 of all this, with nothing here
}

// File is one file of a backup.
type File struct {
	Name   string        `json:"name"`
	Bytes  int64         `json:"bytes"`
	SHA256 events.Digest `json:"sha256"`
}

// Size is how many bytes the files of the backup have, without photos.
func (m Manifest) Size() int64 {
	var n int64
	for _, f := range m.Files {
		n += f.Bytes
	}
	return n
}

// encode writes the manifest in its one form.
func (m Manifest) encode() []byte {
	m.Sum = ""
	sum := sha256.Sum256(m.text())
	m.Sum = fmt.Sprintf("%x", sum)
	return m.text()
}

func (m Manifest) text() []byte {
	text, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		panic("a manifest cannot be written: " + err.Error()) // it has no such fields
	}
	return append(text, '\n')
}

// parse reads a manifest and checks that nothing in it was changed.
func parse(text []byte) (Manifest, error) {
	var m Manifest
	if err := json.Unmarshal(text, &m); err != nil {
		return m, fmt.Errorf("%s is cut or changed: %w", manifestName, err)
	}
	if m.Format != format {
		return m, fmt.Errorf("%s is of format %d and this program reads %d: use the program that made it, %s", manifestName, m.Format, format, m.Program)
	}
	if !bytes.Equal(m.encode(), text) {
		return m, errors.New(manifestName + " is not as it was written")
	}
	return m, nil
}

func readManifest(folder string) (Manifest, error) {
	text, err := os.ReadFile(filepath.Join(folder, manifestName))
	if err != nil {
		return Manifest{}, err
	}
	m, err := parse(text)
	if err == nil && m.Name != filepath.Base(folder) {
		err = fmt.Errorf("%s is that of the backup %s", manifestName, m.Name)
	}
	return m, err
}

// list hashes and syncs the files of a backup for its manifest.
func list(folder string) (files []File, err error) {
	err = filepath.WalkDir(folder, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		f := File{}
		if f.Name, err = filepath.Rel(folder, path); err != nil {
			return err
		}
		f.SHA256, f.Bytes, err = hashFile(path)
		if err == nil {
			err = syncPath(path)
		}
		files = append(files, f)
		return err
	})
	return files, err
}

// verify compares the files of a backup with its manifest and names each that differs.
func (m Manifest) verify(folder string) (faults []string) {
	for _, f := range m.Files {
		sum, n, err := hashFile(filepath.Join(folder, f.Name))
		switch {
		case errors.Is(err, os.ErrNotExist):
			faults = append(faults, fmt.Sprintf("%s/%s is missing", m.Name, f.Name))
		case err != nil:
			faults = append(faults, fmt.Sprintf("%s/%s cannot be read: %v", m.Name, f.Name, err))
		case n != f.Bytes || sum != f.SHA256:
			faults = append(faults, fmt.Sprintf("%s/%s is not what was written", m.Name, f.Name))
		}
	}
	return faults
}

func hashFile(path string) (sum events.Digest, n int64, err error) {
	f, err := os.Open(path)
	if err != nil {
		return sum, 0, err
	}
	defer f.Close()
	h := sha256.New()
	n, err = io.Copy(h, f)
	return events.Digest(h.Sum(nil)), n, err
}

func syncPath(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
