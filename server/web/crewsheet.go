package web

import (
	"html/template"

	"relevel/jobs"
)

// CrewSheetPage is what a crew takes below on paper: the moves of the round, what
// waits, and what is to be cut.
type CrewSheetPage struct {
	Frame
	Around
	Picture jobs.Picture
	Floor   template.HTML
	Batches []Batch
	Later   []LaterRound
	Waits   []jobs.WaitingOn
	Packers []jobs.Cutting
	Stands  bool
	Setup   string // that the stop figures are for
	Printed string
}

func (CrewSheetPage) page() string { return "crew-sheet" }

// Nothing reports whether there is nothing to take below.
func (p CrewSheetPage) Nothing() bool { return len(p.Batches)+len(p.Waits)+len(p.Packers) == 0 }
