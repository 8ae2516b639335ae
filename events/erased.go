package events

import (
	"fmt"
	"slices"

	"relevel/levelling"
)

// Erased says what was erased at a person's request: the bytes of earlier records,
// or single photos and sounds of records that stay. It names them by their numbers
// alone; a digest would tell whoever guesses that he guessed right.
type Erased struct {
	Records []int64  `json:"records,omitempty"` // the numbers of those whose content is gone
	Files   []FileOf `json:"files,omitempty"`   // of records that stay
	Why     string   `json:"why"`               // on what ground, without a name
}

// FileOf is a photo or sound by the number of its record, and its place there.
type FileOf struct {
	Record int64 `json:"record"`
	No     int   `json:"no"` // from 1
}

// MaxErased bounds what one record says was erased; more takes several.
const MaxErased = 10_000

// Check implements Body.
func (e *Erased) Check() error {
	if len(e.Records)+len(e.Files) == 0 {
		return levelling.Bad("records", "missing: the numbers of what was erased")
	}
	if len(e.Records) > MaxErased || len(e.Files) > MaxErased {
		return levelling.Bad("records", fmt.Sprintf("at most %d at once", MaxErased))
	}
	for i, n := range e.Records {
		if n < 1 || i > 0 && n <= e.Records[i-1] {
			return levelling.Bad(fmt.Sprintf("records[%d]", i), "the number of a record, in ascending order")
		}
	}
	for i, f := range e.Files {
		if f.Record < 1 || f.No < 1 || f.No > maxFiles {
			return levelling.Bad(fmt.Sprintf("files[%d]", i), "the number of a record and of its file, from 1")
		}
	}
	return text("why", e.Why)
}

// Points implements Body.
func (e *Erased) Points() []string { return nil }

// Names tells whether it says that the record of this number was erased.
func (e *Erased) Names(record int64) bool {
	_, named := slices.BinarySearch(e.Records, record)
	return named
}

// OfCommand tells the kinds that nobody records on a page or a phone: only a command
// of the server does, together with what they say.
func (k Kind) OfCommand() bool { return k == KindErased }
