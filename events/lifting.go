package events

import (
	"fmt"

	"relevel/levelling"
)

// Jacking raises, or with a negative length lets down, one or several supports.
type Jacking struct {
	Moves []Move `json:"moves"`
}

// Move is what one jack did at one support. By is measured there by Gauge, not
// taken from what was meant.
type Move struct {
	Support     string  `json:"support"`
	By          *Length `json:"by"`
	Gauge       Gauge   `json:"gauge"`
	Jack        string  `json:"jack,omitempty"`
	PressureMPa float64 `json:"pressure_mpa,omitempty"`
	BoreMM      float64 `json:"bore_mm,omitempty"`  // of the jack's ram, to tell the force by its pressure
	RatedKN     float64 `json:"rated_kn,omitempty"` // as marked on the jack
	Beside      string  `json:"beside,omitempty"`   // where beside the support the jack stands
}

// Gauge is what a lift was measured with.
type Gauge string

// The gauges.
const (
	Rule  Gauge = "rule"
	Dial  Gauge = "dial"
	Turns Gauge = "turns" // of the jack's screw
)

// Check implements Body.
func (j *Jacking) Check() error {
	if len(j.Moves) == 0 {
		return levelling.Bad("moves", "missing: which support, and by how much")
	}
	seen := map[string]bool{}
	for i, m := range j.Moves {
		f := fmt.Sprintf("moves[%d]", i)
		if m.By == nil {
			return levelling.Bad(f+".by", "missing: how far it moved")
		}
		if seen[m.Support] {
			return levelling.Bad(f+".support", "stands twice: one move a support")
		}
		seen[m.Support] = true
		if err := first(place(f+".support", m.Support), oneOf(f+".gauge", m.Gauge, Rule, Dial, Turns),
			between(f+".by", m.By.MM(), -maxMoveMM, maxMoveMM, "mm in one move"),
			between(f+".pressure_mpa", m.PressureMPa, 0, 200, "MPa"), between(f+".bore_mm", m.BoreMM, 0, 1000, "mm"),
			between(f+".rated_kn", m.RatedKN, 0, 1e5, "kN"), optionalText(f+".jack", m.Jack)); err != nil {
			return err
		}
	}
	return nil
}

// Points implements Body.
func (j *Jacking) Points() []string {
	names := make([]string, len(j.Moves))
	for i, m := range j.Moves {
		names[i] = m.Support
	}
	return names
}

// PackingSort tells the packing that follows the jack from the one that stays.
type PackingSort string

// The sorts of packing.
const (
	Temporary PackingSort = "temporary"
	Final     PackingSort = "final"
)

// Packing fills the gap between support and bearer. The pieces of a final one
// are the packer.
type Packing struct {
	Support   string      `json:"support"`
	Sort      PackingSort `json:"sort"`
	Gap       *Length     `json:"gap,omitempty"`
	Pieces    []Piece     `json:"pieces,omitempty"`
	FullWidth bool        `json:"full_width,omitempty"` // bears on the full width of bearer and support
}

// Piece is one layer of packing.
type Piece struct {
	Thickness   *Length `json:"thickness"`
	Material    string  `json:"material,omitempty"`
	MoisturePct float64 `json:"moisture_pct,omitempty"` // of the timber, when it was cut
}

// ThicknessMM is the sum of the pieces.
func (p *Packing) ThicknessMM() float64 {
	sum := 0.0
	for _, piece := range p.Pieces {
		sum += piece.Thickness.MM()
	}
	return sum
}

// Check implements Body.
func (p *Packing) Check() error {
	if err := first(place("support", p.Support), oneOf("sort", p.Sort, Temporary, Final), thickness("gap", p.Gap)); err != nil {
		return err
	}
	if p.Sort == Final && len(p.Pieces) == 0 {
		return levelling.Bad("pieces", "missing: the thickness of the packer, piece by piece")
	}
	for i, piece := range p.Pieces {
		f := fmt.Sprintf("pieces[%d].thickness", i)
		if piece.Thickness == nil || piece.Thickness.MM() <= 0 {
			return levelling.Bad(f, "missing: how thick the piece is")
		}
		if err := first(thickness(f, piece.Thickness), between(fmt.Sprintf("pieces[%d].moisture_pct", i), piece.MoisturePct, 0, 300, "%")); err != nil {
			return err
		}
	}
	return nil
}

// Points implements Body.
func (p *Packing) Points() []string { return []string{p.Support} }

// JackDown lets the jack down until the bearer sits on its packing.
type JackDown struct {
	Support string `json:"support"`
}

// Check implements Body.
func (j *JackDown) Check() error { return place("support", j.Support) }

// Points implements Body.
func (j *JackDown) Points() []string { return []string{j.Support} }

// Blocking carries a load while its support is away or the jack is.
type Blocking struct {
	Place     string   `json:"place"` // a name for it, used again when it is removed
	Supports  []string `json:"supports"`
	What      string   `json:"what"` // crossed hardwood, steel props, …
	Base      string   `json:"base"` // what it stands on
	CheckedBy ID       `json:"checked_by,omitzero"`
}

// Check implements Body.
func (b *Blocking) Check() error {
	return first(place("place", b.Place), somePlaces("supports", b.Supports), text("what", b.What), text("base", b.Base))
}

// Points implements Body.
func (b *Blocking) Points() []string { return b.Supports }

// BlockingRemoved takes a blocking away.
type BlockingRemoved struct {
	Place string `json:"place"`
}

// Check implements Body.
func (b *BlockingRemoved) Check() error { return place("place", b.Place) }

// Points implements Body.
func (b *BlockingRemoved) Points() []string { return nil }

// WorkStep is one step of replacing or mending a support.
type WorkStep string

// The steps.
const (
	TakenOut      WorkStep = "taken-out"
	Dug           WorkStep = "dug"
	SeenInspector WorkStep = "seen-by-inspector"
	Poured        WorkStep = "poured"
	CarriesFrom   WorkStep = "carries-from" // a date that somebody sets; there is no default curing time
	Set           WorkStep = "set"
	Capped        WorkStep = "capped"
	Refixed       WorkStep = "fixed"
	OldPackingOut WorkStep = "old-packing-out"
)

// SupportWork is one step at one support.
type SupportWork struct {
	Support string   `json:"support"`
	Step    WorkStep `json:"step"`
	From    string   `json:"from,omitempty"`  // carries-from: the date, 2026-03-02
	SetBy   ID       `json:"set_by,omitzero"` // carries-from: who says so
	How     string   `json:"how,omitempty"`   // strap, bolts, wire
}

// Check implements Body.
func (s *SupportWork) Check() error {
	err := first(place("support", s.Support), optionalText("how", s.How),
		oneOf("step", s.Step, TakenOut, Dug, SeenInspector, Poured, CarriesFrom, Set, Capped, Refixed, OldPackingOut))
	if err != nil || s.Step != CarriesFrom {
		return err
	}
	return date("from", s.From)
}

// Points implements Body.
func (s *SupportWork) Points() []string { return []string{s.Support} }

// Signed says that a support, a room or the floor is as agreed. It rests on a
// reading, and lapses when something beside it moves that the signer had not seen.
type Signed struct {
	Support       string `json:"support,omitempty"`
	Room          string `json:"room,omitempty"`
	Floor         bool   `json:"floor,omitempty"`
	Reading       ID     `json:"reading,omitzero"`
	BlockingStays string `json:"blocking_stays,omitempty"` // why, where it stays
}

// Check implements Body.
func (s *Signed) Check() error {
	named := 0
	for _, is := range []bool{s.Support != "", s.Room != "", s.Floor} {
		if is {
			named++
		}
	}
	if named != 1 {
		return levelling.Bad("support", "name one of support, room or floor")
	}
	if s.Support != "" {
		return first(place("support", s.Support), someID("reading", s.Reading))
	}
	return optionalText("room", s.Room)
}

// Points implements Body.
func (s *Signed) Points() []string {
	if s.Support == "" {
		return nil
	}
	return []string{s.Support}
}
