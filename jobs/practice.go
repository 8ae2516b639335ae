package jobs

import (
	"fmt"
	"reflect"
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
	BagM3       float64   `json:"bag_m3,omitempty"`       // what a bag of concrete makes, by what is printed on it
	CreatedAt   time.Time `json:"created_at"`
}

// Aim is what the form of a job's first aim starts with.
func (p Practice) Aim() events.Aim {
	return events.Aim{StepMM: p.StepMM, DailyMM: p.DailyMM, NeighbourMM: p.NeighbourMM, Ratio: p.Ratio,
		Jacks: p.Jacks, MaxOut: p.MaxOut, MaxBlocked: p.MaxBlocked, RestHours: p.RestHours}
}

// Check reports, as an InputError, the first field that makes no sense. What
// fills in an aim is what an aim takes.
func (p Practice) Check() error {
	aim := p.Aim()
	aim.Aim, aim.AgreedBy = events.AimHighest, "the firm"
	if err := aim.Check(); err != nil {
		return err
	}
	return p.checkPacking()
}

const (
	maxSizes  = 200
	maxPieces = 20
	maxBagM3  = 1 // a whole pallet
)

func (p Practice) checkPacking() error {
	switch {
	case len(p.StockMM) > maxSizes:
		return levelling.Bad("stock_mm", fmt.Sprintf("at most %d thicknesses", maxSizes))
	case !(p.WithinMM >= 0 && p.WithinMM <= 50):
		return levelling.Bad("within_mm", "how far a stack may be off in mm, 0 to 50, or nothing")
	case p.MaxPieces < 0 || p.MaxPieces > maxPieces:
		return levelling.Bad("max_pieces", fmt.Sprintf("how many pieces may lie on one another, 1 to %d, or nothing", maxPieces))
	case !(p.BagM3 >= 0 && p.BagM3 <= maxBagM3):
		return levelling.Bad("bag_m3", "how much concrete a bag makes in m³, such as 0.009, or nothing")
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
	return stock && reflect.DeepEqual(p, other)
}
