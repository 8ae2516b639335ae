package web

import (
	"relevel/jobs"
	"relevel/levelling/underfloor"
)

// PackersPage is the list for the saw.
type PackersPage struct {
	Frame
	List  []jobs.Cutting
	Stock bool   // the firm said what thicknesses there are
	Named string // the rule that the firm holds them against, "" for none
}

func (PackersPage) page() string { return "packers" }

// Rule is the one that the firm holds packers against, nil for none.
func (p PackersPage) Rule() *underfloor.PackingRule {
	rule, known := underfloor.FindPackingRule(p.Named)
	if !known {
		return nil
	}
	return &rule
}
