package jobs

import (
	"fmt"
	"strings"
	"time"

	"relevel/events"
	"relevel/levelling/underfloor"
)

// Cutting is one line of the list for the saw: the final packer of one support.
type Cutting struct {
	Support  string    `json:"support"`
	Ask      string    `json:"ask,omitempty"` // what is to be done before it can be cut
	GapMM    float64   `json:"gap_mm"`
	Measured bool      `json:"measured"`          // else by the temporary packing that is there
	AdjustMM float64   `json:"adjust_mm"`         // from where the floor is now to its target
	Bedding  Bedding   `json:"bedding"`           // what letting the jack down will lose
	NeedMM   float64   `json:"need_mm"`           // all of that
	PiecesMM []float64 `json:"pieces_mm"`         // thickest first
	Cut      bool      `json:"cut"`               // one piece, cut to size
	FromMM   *float64  `json:"from_mm,omitempty"` // from this thickness; nil: nothing in stock is thick enough
	OverMM   float64   `json:"over_mm,omitempty"`
	Cautions []string  `json:"cautions,omitempty"`
}

// PackerRules is what packers are made of, and what the firm goes by.
type PackerRules struct {
	Stock underfloor.Stock
	Rule  string // of underfloor.PackingRules; "" is none
}

// CuttingList lists the packers that can be cut now: of supports that are at
// their height, with nothing beside them still to be lifted. Each is cut once, to
// its gap, what the floor lacks to its target there, and what it will bed in by.
func (s *State) CuttingList(r PackerRules, now time.Time) []Cutting {
	now = s.onSite(now)
	var out []Cutting
	s.lifted(func(p *place) {
		d := s.next(p, now)
		if d.kind != events.KindPacking || d.sort != events.Final {
			return
		}
		out = append(out, s.cutting(p, r))
	})
	return out
}

func (s *State) cutting(p *place, r PackerRules) Cutting {
	c := Cutting{Support: p.id}
	var known bool
	if c.GapMM, c.Measured, known = p.work.gapNow(); !known {
		c.Ask = "measure the gap"
		return c
	}
	if left, ok := s.remaining(p); ok {
		c.AdjustMM = left.MM
	}
	lost, from := s.expectedLoss(s.toCome(p))
	c.Bedding = Bedding{MM: lost.MM, SD: lost.SD, From: from}
	c.NeedMM = c.GapMM + c.AdjustMM + s.bedsIn(p)
	made, err := r.Stock.Packer(c.NeedMM, 0)
	if err != nil {
		c.Ask = err.Error()
		return c
	}
	c.PiecesMM, c.Cut, c.FromMM, c.OverMM = made.PiecesMM, made.Cut, made.CutFrom, made.OverMM
	c.Cautions = s.packerCautions(p, c, r)
	return c
}

// gapNow is the gap under a bearer as it stands on its jack: as measured with the
// packing that is there, or as that packing fills it.
func (w *work) gapNow() (mm float64, measured, known bool) {
	switch {
	case w.gap != nil:
		return *w.gap, true, true
	case w.packing != nil && len(w.packing.Pieces) > 0:
		return w.packing.ThicknessMM(), false, true
	}
	return 0, false, false
}

// packerCautions says what speaks against a packer: the rule the firm goes by,
// what presses on it, and what it will lose by drying.
func (s *State) packerCautions(p *place, c Cutting, r PackerRules) (out []string) {
	if rule, known := underfloor.FindPackingRule(r.Rule); known {
		if broken := rule.Breaks(c.PiecesMM, true); broken != "" {
			out = append(out, fmt.Sprintf("%s (%s)", broken, rule.Source))
		}
	}
	return append(out, s.crushes(p)...)
}

// crushes compares what a support carries with what the timber of its bearer and
// packer takes across the grain, on the width of the bearer, square.
func (s *State) crushes(p *place) []string {
	on := s.floor.bearer(s.floor.bearerOf[p.id])
	load, known := s.LoadOn(p.id, Pour{})
	if !known || on.WidthMM == 0 {
		return nil
	}
	materials := []string{on.Grade}
	if w := p.work.packing; w != nil {
		for _, piece := range w.Pieces {
			materials = append(materials, piece.Material)
		}
	}
	if said := underfloor.Crushing(load.DesignKN, on.WidthMM, on.WidthMM, materials); said != "" {
		return []string{said}
	}
	return nil
}

// dryPct is the moisture that timber comes to in an aired dry floor, % (common
// practice, no source).
const dryPct = 12

// Drying says what the pieces of a packer will lose from their moisture to that of
// a dry floor, by species, nothing where there is no figure.
func Drying(b *events.Packing, toPct float64) (words []string) {
	for _, piece := range b.Pieces {
		name := strings.ReplaceAll(strings.ToLower(strings.TrimSpace(piece.Material)), " ", "-")
		if piece.MoisturePct <= 0 {
			continue
		}
		loss, source, err := underfloor.Shrinkage(piece.Thickness.MM(), name, underfloor.Radial, piece.MoisturePct, toPct)
		if err == nil && loss > 0 {
			words = append(words, fmt.Sprintf("%s: %s mm lost from %g to %g %% (%s)", piece.Material, mmWords(loss), piece.MoisturePct, toPct, source))
		}
	}
	return words
}
