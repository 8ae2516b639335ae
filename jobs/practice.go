package jobs

import (
	"fmt"
	"slices"
	"time"

	"relevel/events"
	"relevel/levelling"
	"relevel/levelling/underfloor"
)

// Practice is how a firm goes about lifting and packing: what its forms are
// filled in with. Everything is empty until somebody sets it, since no rate of
// lifting is published as safe; a job goes by what its own aim says.
type Practice struct {
	Firm        events.ID `json:"-"`
	ID          events.ID `json:"id"`
	StepMM      float64   `json:"step_mm,omitempty"`
	DailyMM     float64   `json:"daily_mm,omitempty"`
	NeighbourMM float64   `json:"neighbour_mm,omitempty"`
	Ratio       float64   `json:"neighbour_ratio,omitempty"`
	Jacks       int       `json:"jacks,omitempty"`
	MaxOut      int       `json:"max_out,omitempty"`
	MaxBlocked  int       `json:"max_on_blocking,omitempty"`
	RestHours   float64   `json:"rest_hours,omitempty"`
	StockMM     []float64 `json:"stock_mm,omitempty"` // thicknesses of packing
	WithinMM    float64   `json:"within_mm,omitempty"`
	MaxPieces   int       `json:"max_pieces,omitempty"`
	PackingRule string    `json:"packing_rule,omitempty"` // a published one to be held against each packer
	CreatedAt   time.Time `json:"created_at"`
}

// Check reports, as an InputError, the first field that makes no sense.
func (p Practice) Check() error {
	for _, f := range []struct {
		name   string
		v, top float64
	}{
		{"step_mm", p.StepMM, 300}, {"daily_mm", p.DailyMM, 300}, {"neighbour_mm", p.NeighbourMM, 300}, {"neighbour_ratio", p.Ratio, 1e6},
		{"jacks", float64(p.Jacks), 1000}, {"max_out", float64(p.MaxOut), 5000}, {"max_on_blocking", float64(p.MaxBlocked), 5000},
		{"rest_hours", p.RestHours, 10000}, {"within_mm", p.WithinMM, 50}, {"max_pieces", float64(p.MaxPieces), 20},
	} {
		if !(f.v >= 0 && f.v <= f.top) {
			return levelling.Bad(f.name, fmt.Sprintf("a number from 0 to %g, or nothing", f.top))
		}
	}
	if len(p.StockMM) > 200 {
		return levelling.Bad("stock_mm", "at most 200 thicknesses")
	}
	for i, mm := range p.StockMM {
		if !(mm > 0 && mm <= 1000) {
			return levelling.Bad(fmt.Sprintf("stock_mm[%d]", i), "a thickness in mm, above 0 and at most 1 000")
		}
	}
	if _, known := underfloor.FindPackingRule(p.PackingRule); !known && p.PackingRule != "" {
		return levelling.Bad("packing_rule", "the name of a published rule, or nothing")
	}
	return nil
}

// Packers is what packers are made of by this practice.
func (p Practice) Packers() PackerRules {
	return PackerRules{Rule: p.PackingRule, Stock: underfloor.Stock{SizesMM: p.StockMM, MaxPieces: max(1, p.MaxPieces), WithinMM: p.WithinMM}}
}

// Same reports whether two say the same; when they were created is not part of
// that.
func (p Practice) Same(other Practice) bool {
	stock := slices.Equal(p.StockMM, other.StockMM)
	p.StockMM, other.StockMM, p.CreatedAt, other.CreatedAt = nil, nil, time.Time{}, time.Time{}
	return stock && fmt.Sprint(p) == fmt.Sprint(other)
}
