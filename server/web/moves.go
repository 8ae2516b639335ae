package web

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"relevel/jobs"
	"relevel/levelling"
)

// MovesPage is which support is moved next, and how far.
type MovesPage struct {
	Frame
	Picture jobs.Picture
	Batches []Batch      // of the round under way
	Later   []LaterRound // those after it
	Waits   []jobs.WaitingOn
	Stands  bool // a laser does, so that there are stop figures
	Floor   template.HTML
}

func (MovesPage) page() string { return "moves" }

// Proposals are the stops that are proposed on the job.
func (p MovesPage) Proposals() []jobs.Proposal { return p.Picture.Proposals }

// Batch is what is pumped together.
type Batch struct {
	No     int
	Moves  []Move
	Record string // where the form is
}

// Move is one support's part of it.
type Move struct {
	jobs.NextMove
	Href   string
	Felt   Felt
	Pencil bool   // its height is expected, not read
	Before Action // what has to be recorded first, without a verb where nothing has
}

// LaterRound is a round after the one under way, and when it comes.
type LaterRound struct {
	When  string // "Tomorrow", or "Round 3" where no daily lift is set
	Moves []jobs.NextMove
}

// LaterRounds says when the rounds after the one under way come: on which day
// where so much is lifted in one and no more, otherwise after how many others.
func LaterRounds(later []jobs.LaterOn, byDay bool) []LaterRound {
	var out []LaterRound
	for i, l := range later {
		r := LaterRound{fmt.Sprintf("Round %d", i+2), l.Moves}
		if byDay {
			r.When = dayFromNow(l.Day)
		}
		out = append(out, r)
	}
	return out
}

func dayFromNow(days int) string {
	switch days {
	case 0:
		return "Today"
	case 1:
		return "Tomorrow"
	}
	return fmt.Sprintf("In %d days", days)
}

// Rests are what waits, and how much of it: the lift that is left after the
// moves that are planned.
func Rests(plan *jobs.Rounds) []jobs.WaitingOn {
	planned := map[string]float64{}
	for _, m := range plan.Moves {
		planned[m.Support] += m.ByMM
	}
	for _, l := range plan.Later {
		for _, m := range l.Moves {
			planned[m.Support] += m.ByMM
		}
	}
	rests := slices.Clone(plan.Waits)
	for i, w := range rests {
		if by, moves := planned[w.Support]; moves {
			rests[i].LeftMM, rests[i].Why = w.LeftMM-by, "the rest of it: "+w.Why
		}
	}
	return rests
}

// Idle tells that there is an aim and nothing is left to do about it.
func (p MovesPage) Idle() bool {
	r := p.Picture.Rounds
	return r != nil && len(r.Ask)+len(r.Moves)+len(r.Waits) == 0
}

// Signs explains what the plan says of the round, "" where that is nothing.
func (p MovesPage) Signs() string {
	r := p.Picture.Rounds
	if r == nil || p.Floor == "" {
		return ""
	}
	var signs []string
	if len(r.Moves) > 0 {
		signs = append(signs, "A framed number is the place in the order of this round.")
	}
	if len(r.Waits) > 0 {
		signs = append(signs, "What waits stands in a broken frame.")
	}
	return strings.Join(signs, " ")
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
func (m Move) OverWords(u levelling.Unit) string {
	if m.OverMM < 0.25 {
		return ""
	}
	return u.ShowFine(m.OverMM) + " of it for bedding-in"
}

// ReadFirst tells that one of its moves waits for something to be recorded: the
// stop figure would rest on what nobody has read.
func (b Batch) ReadFirst() bool {
	return slices.ContainsFunc(b.Moves, func(m Move) bool { return m.Before.Verb != "" })
}

// Refused tells that one of its moves is past what the kit is marked with.
func (b Batch) Refused() bool {
	return slices.ContainsFunc(b.Moves, func(m Move) bool { return m.Felt.TooStrong() })
}

// Today tells whether all of it is due today.
func (b Batch) Today() bool {
	return !slices.ContainsFunc(b.Moves, func(m Move) bool { return !m.Today })
}

// Verb is on its button.
func (b Batch) Verb() string {
	for _, m := range b.Moves {
		if m.ByMM > 0 {
			return "Jack up"
		}
	}
	return "Let down"
}

// Each tells whether a batch is more than one.
func (b Batch) Each() bool { return len(b.Moves) > 1 }

// StopOf is where the move of one support stops.
type StopOf struct {
	Support string
	*jobs.StopAt
	Pencil bool // it rests on a height that is expected, not read
}
