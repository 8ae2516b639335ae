package jobs

import (
	"fmt"
	"slices"
	"strings"

	"relevel/events"
)

// Erasures lists the numbers that the events of a set say were erased, and the files
// of records that stay. A record speaks of those before it alone.
func Erasures(all []events.Stored) (records map[int64]bool, files map[events.FileOf]bool) {
	records, files = map[int64]bool{}, map[events.FileOf]bool{}
	for _, e := range all {
		if e.Kind != events.KindErased || e.Erased {
			continue
		}
		body, err := events.Open(e.Kind, e.V, e.Body)
		if err != nil {
			continue // set aside in its turn
		}
		for _, n := range body.(*events.Erased).Records {
			if n < e.Seq {
				records[n] = true
			}
		}
		for _, f := range body.(*events.Erased).Files {
			if f.Record < e.Seq {
				files[f] = true
			}
		}
	}
	return records, files
}

// forget takes the content from what is said to be erased. The record that says so
// comes before the bytes go, and copies of them may lie on phones: what is reckoned
// must not hang on how far the erasing has come.
func forget(all []events.Stored) []events.Stored {
	gone, _ := Erasures(all)
	if len(gone) == 0 {
		return all
	}
	kept := slices.Clone(all)
	for i, e := range kept {
		if gone[e.Seq] && e.Kind != events.KindErased {
			known := events.Known{Seq: e.Seq, Kind: e.Kind, RecordedAt: e.RecordedAt, Leaf: e.Leaf}
			kept[i] = events.Restore(e.Job, e.ID, e.V, known, nil)
		}
	}
	return kept
}

// collectErased learns what is gone. What says that something was erased stays.
func (s *State) collectErased(order []placed) {
	all := make([]events.Stored, len(order))
	for i, e := range order {
		all[i] = e.Stored
	}
	s.gone, s.goneFiles = Erasures(all)
	for _, e := range order {
		if e.Kind == events.KindErased && !e.Erased {
			delete(s.gone, e.Seq)
		}
	}
}

// takeErased keeps a record of what was erased. It is no work on the site.
func (s *State) takeErased(e placed, b *events.Erased) {
	s.lists.add(&s.lists.erasures, itemOf(e, "", erasedWords(b)))
}

// kept are those of a record's files that were not erased.
func (s *State) kept(e events.Stored) []events.File {
	if len(s.goneFiles) == 0 {
		return e.Files
	}
	var files []events.File
	for i, f := range e.Files {
		if !s.goneFiles[events.FileOf{Record: e.Seq, No: i + 1}] {
			files = append(files, f)
		}
	}
	return files
}

func erasedWords(b *events.Erased) string {
	return sentence(recordsErased(b.Records), filesErased(b.Files), b.Why)
}

func recordsErased(records []int64) string {
	switch len(records) {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("record %d", records[0])
	}
	const shown = 8
	var words []string
	for _, n := range records[:min(len(records), shown)] {
		words = append(words, fmt.Sprint(n))
	}
	if more := len(records) - shown; more > 0 {
		words = append(words, fmt.Sprintf("and %d more", more))
	}
	return "records " + strings.Join(words, ", ")
}

func filesErased(files []events.FileOf) string {
	switch len(files) {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("a photo or sound of record %d", files[0].Record)
	}
	return fmt.Sprintf("%d photos and sounds", len(files))
}
