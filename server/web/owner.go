package web

import (
	"html/template"

	"relevel/jobs/answers"
)

// OwnerPage is a job as its owner is told of it. It holds no link to anything but its
// photos and what its makers put into it: it can stand outside the office's frame.
type OwnerPage struct {
	Frame
	Account  answers.Account
	Sections []OwnerSection
	Supports []OwnerSupport
	Sheets   []PairSheet
	Drawn    []DrawnPair // the lines along the bearers, and the maps
	Times    []TimeSheet
	Changes  []OwnerChange // the newest first
	Proofs   []Action      // what there is to take away and to check
	Leave    string        // ends the visit; "" for the office
	Preview  string        // what the office is told above it; "" where the owner looks at it
	Printed  string        // the day on which it was made
	State    string        // "16 October 2026, record 251": how far the record is told
}

// OwnerSection is one question with its answer and its figures.
type OwnerSection struct {
	answers.Answer
	Facts []OwnerFact
}

// OwnerFact is one figure, and where in the record it stands.
type OwnerFact struct{ Name, Value, Lines string }

// OwnerSupport is one support from before to now, "" where something is not known.
type OwnerSupport struct {
	ID, Before, Agreed, Now, CameUp, Packer, State, Signed string
	Reckoned                                               bool // Now was not measured since something moved
}

// PairSheet is two prints of one thing on a sheet.
type PairSheet struct {
	Words         string
	Before, After OwnerPrint
}

// OwnerPrint is one photo at two sizes.
type OwnerPrint struct{ Small, Full, Alt, When string }

// DrawnPair is the floor drawn before and after, on one scale; without drawings Note
// says why.
type DrawnPair struct {
	Name, Note    string
	Before, After template.HTML
}

// TimeSheet is what was read at one place since.
type TimeSheet struct {
	Place  string
	SVG    template.HTML
	Moving bool
}

func (OwnerPage) page() string { return "owner" }
