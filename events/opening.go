package events

import (
	"time"

	"relevel/levelling"
)

// Tie is what holds the floor down or will be strained when it rises: a waste
// pipe, a gas line, a brick skin, a stair.
type Tie struct {
	Tie      string   `json:"tie"` // a name for it, used again when it is freed
	What     string   `json:"what"`
	Where    string   `json:"where,omitempty"`
	Supports []string `json:"supports,omitempty"` // those it keeps from moving
	Trade    string   `json:"trade,omitempty"`    // who may free it
}

// Check implements Body.
func (t *Tie) Check() error {
	return first(place("tie", t.Tie), text("what", t.What), optionalText("where", t.Where), places("supports", t.Supports))
}

// Points implements Body.
func (t *Tie) Points() []string { return t.Supports }

// TieFreed says that a tie no longer holds.
type TieFreed struct {
	Tie   string `json:"tie"`
	How   string `json:"how,omitempty"`
	Trade string `json:"trade,omitempty"`
}

// Check implements Body.
func (t *TieFreed) Check() error { return first(place("tie", t.Tie), optionalText("how", t.How)) }

// Points implements Body.
func (t *TieFreed) Points() []string { return nil }

// TieBack says that what was freed was put back and tested, or left off, and why.
type TieBack struct {
	Tie    string `json:"tie"`
	Tested string `json:"tested,omitempty"`
	Left   string `json:"left,omitempty"`
	Trade  string `json:"trade,omitempty"`
}

// Check implements Body.
func (t *TieBack) Check() error {
	if t.Tested == "" && t.Left == "" {
		return levelling.Bad("tested", "how it was tested, or in left why it stays off")
	}
	return first(place("tie", t.Tie), optionalText("tested", t.Tested), optionalText("left", t.Left))
}

// Points implements Body.
func (t *TieBack) Points() []string { return nil }

// FloorCut is an opening made in the floor.
type FloorCut struct {
	Cut       string     `json:"cut"` // a name for it, used again when it is closed
	Where     string     `json:"where"`
	Outline   []Position `json:"outline,omitempty"`
	Layers    []string   `json:"layers,omitempty"`
	Services  string     `json:"services,omitempty"` // what was seen: cables, pipes, none
	NoDeeper  *Length    `json:"no_deeper,omitempty"`
	Joists    string     `json:"joists,omitempty"`
	BearingMM float64    `json:"bearing_mm,omitempty"` // least bearing left on a joist
	Cleat     bool       `json:"cleat,omitempty"`
	Cover     string     `json:"cover,omitempty"` // what lies over it meanwhile
}

// Check implements Body.
func (f *FloorCut) Check() error {
	return first(place("cut", f.Cut), text("where", f.Where), thickness("no_deeper", f.NoDeeper),
		between("bearing_mm", f.BearingMM, 0, maxMoveMM, "mm"), optionalText("services", f.Services))
}

// Points implements Body.
func (f *FloorCut) Points() []string { return nil }

// FloorClosed says how a cut was covered or closed again.
type FloorClosed struct {
	Cut     string `json:"cut"`
	How     string `json:"how"`
	Covered bool   `json:"covered,omitempty"` // covered for the night, not closed for good
}

// Check implements Body.
func (f *FloorClosed) Check() error { return first(place("cut", f.Cut), text("how", f.How)) }

// Points implements Body.
func (f *FloorClosed) Points() []string { return nil }

func date(field, s string) error {
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		return levelling.Bad(field, "a date, as 2026-03-02")
	}
	return nil
}
