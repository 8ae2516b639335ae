package web

import (
	"slices"

	"relevel/jobs"
)

// RegisterPage is one sort of records as ruled columns: what is left to do
// first, each line with its date, its state, its photos and a way into the book.
type RegisterPage struct {
	Frame
	Around
	Heading string
	Say     string   // one sentence on what this is and what is left to do
	Warn    []string // what waits, or has to be looked at
	Parts   []RegisterPart
	Begin   string // what to do while there is nothing yet
	Acts    []Action
	Caution string
}

// RegisterPart is one table of a register.
type RegisterPart struct {
	Title   string
	Columns []string // of the cells
	Lines   []RegisterLine
	Note    string
}

// RegisterLine is one record.
type RegisterLine struct {
	Name   string
	Cells  []RegisterCell
	When   string // when, and by whom
	Book   string // its line in the book; "" where it is of several
	No     int64
	Open   bool // something is left to do
	Photos []Photo
	Do     Action
}

// RegisterCell is one cell; Of names its column where a phone shows one below
// the other.
type RegisterCell struct {
	Of, Text string
	Danger   bool
	Off      []StruckOff // above the text
}

// StruckOff is a sentence with the initials it was struck off by, "" where nobody did.
type StruckOff struct{ Sentence, Initials string }

func (RegisterPage) page() string { return "register" }

// Empty reports whether there is nothing on the page yet.
func (p RegisterPage) Empty() bool {
	for _, part := range p.Parts {
		if len(part.Lines) > 0 {
			return false
		}
	}
	return true
}

// BelowPage is the register of looks under the floor, below what is known of it
// by now.
type BelowPage struct {
	RegisterPage
	Picture jobs.Picture
}

func (BelowPage) page() string { return "below" }

// SafetySentence says a sentence that was struck off in the words of a region; one that
// somebody made up stays as it is.
func SafetySentence(sentence string, w jobs.Words) string {
	if slices.Contains(sentences, Choice{Value: sentence}) {
		return w.Say(sentence)
	}
	return sentence
}

// SafetySentences are what is struck off before anybody goes below, in the words of the code.
func SafetySentences() []string {
	out := make([]string, len(sentences))
	for i, s := range sentences {
		out[i] = s.Value
	}
	return out
}
