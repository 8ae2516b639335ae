package bundle

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"

	"relevel/events"
)

// Contents is all of a bundle but its photos and sounds.
type Contents struct {
	About   About
	Records []events.Stored
	Tree    Tree
}

// Tree is what was signed, as texts in the forms of the package proof.
type Tree struct {
	Checkpoint []byte // of the job's log; empty where none was signed yet
	Keys       []byte // the public keys, as proof.KeysText writes them
	Logged     []byte // a checkpoint of the job that stands in the firm's log; empty where none does yet
	Firm       []byte // the proof that it does
}

// Opened gives the bytes of a photo or sound. Where there are none to be had it is
// events.ErrNotFound or events.ErrDamaged, and the bundle says that it is missing.
type Opened func(file events.Digest, kind events.FileType) (data []byte, err error)

// Progress is told how far the writing is: files written of all.
type Progress func(files, of int)

// Write writes a bundle. At most one photo is in memory at a time.
func Write(w io.Writer, c Contents, open Opened, tell Progress) error {
	b := writer{packer: packer{w: w}}
	b.add(readmeName, []byte(readme))
	b.add(aboutName, encoded(c.About))
	b.records(c.Records)
	b.tree(c.Tree)
	figures, plan := reckoned(c.About.Job.ID, c.Records)
	b.add(planName, encoded(plan))
	b.add(stateName, encoded(figures))
	if err := b.files(filesOf(c.Records), c.About.Photos, open, tell); err != nil {
		return err
	}
	b.packer.add(sumsName, b.sums.bytes())
	if err := b.close(); err != nil {
		return fmt.Errorf("write the bundle: %w", err)
	}
	return nil
}

type writer struct {
	packer
	sums sums
}

func (b *writer) add(name string, data []byte) {
	b.packer.add(name, data)
	b.sums.add(name, data)
}

func (b *writer) records(all []events.Stored) {
	log := make([]Line, len(all))
	for i, e := range all {
		log[i] = lineOf(e)
	}
	b.add(logName, lines(log))
	for _, e := range all {
		if !e.Erased {
			b.add(eventName(e.Seq), e.Raw)
		}
	}
}

func (b *writer) tree(t Tree) {
	for _, part := range t.parts() {
		if len(part.data) > 0 {
			b.add(part.name, part.data)
		}
	}
}

type part struct {
	name string
	data []byte
}

// parts are the entries of the tree, in their order.
func (t Tree) parts() []part {
	return []part{{checkpointName, t.Checkpoint}, {keysName, t.Keys}, {loggedName, t.Logged}, {firmName, t.Firm}}
}

const (
	checkpointName = treeFolder + "checkpoint.txt"
	keysName       = treeFolder + "keys.txt"
	loggedName     = treeFolder + "logged.txt"
	firmName       = treeFolder + "firm.txt"
)

func (b *writer) files(list []File, photos Photos, open Opened, tell Progress) error {
	for i := range list {
		if b.err != nil {
			return fmt.Errorf("write the bundle: %w", b.err)
		}
		if err := b.file(&list[i], photos == Smaller, open); err != nil {
			return err
		}
		if tell != nil {
			tell(i+1, len(list))
		}
	}
	b.add(filesName, lines(list))
	return nil
}

func missing(err error) bool {
	return errors.Is(err, events.ErrNotFound) || errors.Is(err, events.ErrDamaged)
}

// file writes one photo or sound, if it can be had.
func (b *writer) file(f *File, smaller bool, open Opened) error {
	if f.Kept == IsErased {
		return nil
	}
	if f.Kept = IsMissing; smaller && f.Type == events.Sound {
		f.Kept = IsLeftOut
		return nil
	}
	data, err := open(f.SHA256, f.Type)
	if missing(err) || err == nil && len(data) == 0 {
		return nil
	}
	if err != nil {
		return fmt.Errorf("read %s %s: %w", f.Type, f.SHA256, err)
	}
	f.Kept = IsMade
	if events.Digest(sha256.Sum256(data)) == f.SHA256 {
		f.Kept = IsOriginal
	} else if !smaller {
		f.Kept = IsMissing // nothing vouches for it
		return nil
	}
	f.Name = fileName(f.SHA256, f.Kept == IsMade, data)
	b.add(f.Name, data)
	return nil
}
