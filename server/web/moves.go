package web

import (
	"html/template"
	"slices"

	"relevel/jobs"
)

// MovesPage is which support is moved next, and how far.
type MovesPage struct {
	Frame
	Picture jobs.Picture
	Batches []Batch // of the round under way
	Live    bool    // a laser stands
	Floor   template.HTML
}

func (MovesPage) page() string { return "moves" }

// Batch is what is pumped together.
type Batch struct {
	No     int
	Moves  []Move
	Record string // where the form is
}

// Move is one support's part of it.
type Move struct {
	jobs.NextMove
	Href string
	Felt Felt
}

// Felt is what a jack will feel at a move, and what the kit has for it.
type Felt struct {
	jobs.Carrying
	Strongest float64 // what the strongest jack is marked with, kN; 0 where none is recorded
}

// TooStrong tells that the force may be past what any jack of the kit is marked
// with: such a move is not to be made with it.
func (f Felt) TooStrong() bool {
	return f.ForceKN != nil && f.Strongest > 0 && f.ForceKN.High > f.Strongest
}

// OverWords says how much of the last move is for bedding-in, "" where that could
// not be read on a staff.
func (m Move) OverWords() string {
	if m.OverMM < 0.25 {
		return ""
	}
	return HalfMM(m.OverMM) + " of it for bedding-in"
}

// Refused tells that one of its moves is past what the kit is marked with.
func (b Batch) Refused() bool {
	return slices.ContainsFunc(b.Moves, func(m Move) bool { return m.Felt.TooStrong() })
}

// Each tells whether a batch is more than one.
func (b Batch) Each() bool { return len(b.Moves) > 1 }

// LiftCaution goes with every plan of moves.
const LiftCaution = "No rate of lifting is published as safe: step and limits are the firm’s own. Look and listen after every move. " +
	"Nothing of you between bearer and support; never rely on a jack alone above a person. " +
	"An engineer for walls that carry roofs, masonry and large lifts. Local code and licensed people decide."
