package bundle

import (
	"relevel/events"
)

// File is a photo or sound that records speak of, and what the bundle has of it.
type File struct {
	SHA256  events.Digest   `json:"sha256"` // of the original, as the records say it
	Type    events.FileType `json:"type"`
	Records []int64         `json:"records"` // those that show it
	Kept    Keeping         `json:"kept"`
	Name    string          `json:"name,omitempty"` // of the entry
}

// Keeping says what a bundle has of a file.
type Keeping string

// An original's SHA-256 is that which its record was sealed with. One that was made
// from it is smaller, and only its own word vouches for it. One is missing because it
// has not arrived, or is damaged, and erased where a record says so.
const (
	IsOriginal Keeping = "original"
	IsMade     Keeping = "smaller, made from the original"
	IsMissing  Keeping = "missing"
	IsLeftOut  Keeping = "left out" // a sound, of a bundle with smaller photos
	IsErased   Keeping = "erased"
)

// filesOf lists the files that records speak of, in the order in which they do first.
// One counts as erased when every record that stays and shows it says so.
func filesOf(all []events.Stored) []File {
	var list []File
	at := map[events.Digest]int{}
	gone := goneFiles(all)
	left := map[events.Digest]bool{}
	for _, e := range all {
		for no, f := range shown(e) {
			i, known := at[f.SHA256]
			if !known {
				i = len(list)
				at[f.SHA256] = i
				list = append(list, File{SHA256: f.SHA256, Type: f.Type})
			}
			if r := list[i].Records; len(r) == 0 || r[len(r)-1] != e.Seq {
				list[i].Records = append(r, e.Seq)
			}
			if !gone[events.FileOf{Record: e.Seq, No: no + 1}] {
				left[f.SHA256] = true
			}
		}
	}
	for i := range list {
		if !left[list[i].SHA256] {
			list[i].Kept = IsErased
		}
	}
	return list
}

// shown are the files of one record; the picture behind a plan is one of them.
func shown(e events.Stored) []events.File {
	files := e.Files
	if e.Kind != events.KindPlan || e.Erased {
		return files
	}
	body, err := events.Open(e.Kind, e.V, e.Body)
	if err != nil {
		return files
	}
	if under := body.(*events.Plan).Underlay; under != nil {
		files = append(files[:len(files):len(files)], events.File{Type: events.Photo, SHA256: under.SHA256})
	}
	return files
}

// goneFiles are those that a record says were erased.
func goneFiles(all []events.Stored) map[events.FileOf]bool {
	gone := map[events.FileOf]bool{}
	for _, said := range erasures(all) {
		for _, f := range said.Files {
			gone[f] = f.Record < said.seq || gone[f]
		}
	}
	return gone
}

// erasure is what one record says was erased.
type erasure struct {
	events.Erased
	seq int64
}

func erasures(all []events.Stored) (said []erasure) {
	for _, e := range all {
		if e.Kind != events.KindErased || e.Erased {
			continue
		}
		if body, err := events.Open(e.Kind, e.V, e.Body); err == nil {
			said = append(said, erasure{*body.(*events.Erased), e.Seq})
		}
	}
	return said
}

// toldErased tells whether some record says that the one of a number was erased.
func toldErased(said []erasure, seq int64) bool {
	for _, s := range said {
		if seq < s.seq && s.Names(seq) {
			return true
		}
	}
	return false
}
