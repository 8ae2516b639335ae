// Package sheet reads and writes a job's level book and its plan as CSV, the
// form in which they come out of a spreadsheet or another program's files.
//
// What it writes it reads back as the same thing, and a book that is read into the
// job it came from adds nothing to it. Reading is done in two steps: a sheet becomes
// a proposal that says of every line what would be recorded or what is wrong with it,
// and a proposal without faults becomes events. Both are pure.
package sheet

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"

	"relevel/events"
)

// Limits of one sheet. A house has some hundred supports, and a book of a whole job
// a few thousand lines; what is more is another file than was meant.
const (
	MaxBytes   = 2 << 20
	MaxRows    = 5000
	MaxColumns = 60
	maxCell    = 4000
	maxFaults  = 200
)

// Fault is something wrong with one line of a sheet, and its cure.
type Fault struct {
	Line   int    `json:"line"`             // of the file, from 1; 0: the whole of it
	Column string `json:"column,omitempty"` // as its heading has it
	Cure   string `json:"cure"`
}

// Error makes a fault an error, for what stops the reading of a whole file.
func (f *Fault) Error() string {
	if f.Line == 0 {
		return f.Cure
	}
	return fmt.Sprintf("line %d: %s", f.Line, f.Cure)
}

// faults collects what is wrong, up to a bound.
type faults struct {
	list []Fault
	more int // beyond the bound
}

func (f *faults) add(line int, column, cure string) {
	if len(f.list) >= maxFaults {
		f.more++
		return
	}
	f.list = append(f.list, Fault{Line: line, Column: column, Cure: cure})
}

// all returns them, with a last line for those that were not kept.
func (f *faults) all() []Fault {
	if f.more == 0 {
		return f.list
	}
	return append(f.list, Fault{Cure: fmt.Sprintf("and %d more: mend these first", f.more)})
}

// derived makes an id from what it names, so that the same line read twice is the
// same event: a UUID of version 8, whose bits are the maker's own.
func derived(parts ...string) events.ID {
	sum := sha256.New()
	sum.Write([]byte("relevel-sheet-1"))
	for _, part := range parts {
		var size [8]byte
		binary.BigEndian.PutUint64(size[:], uint64(len(part)))
		sum.Write(size[:])
		sum.Write([]byte(part))
	}
	id := events.ID(sum.Sum(nil)[:16])
	id[6] = id[6]&0x0f | 0x80
	id[8] = id[8]&0x3f | 0x80
	return id
}
