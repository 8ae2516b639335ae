package web

import (
	"fmt"
	"strings"

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

// cutWords says what is to be laid or sawn.
func cutWords(c jobs.Cutting) string {
	switch {
	case c.Ask != "":
		return upper(c.Ask)
	case c.Cut && c.FromMM != nil:
		return fmt.Sprintf("saw %s from %s", HalfMM(c.NeedMM), HalfMM(*c.FromMM))
	case c.Cut:
		return "saw " + HalfMM(c.NeedMM)
	}
	parts := make([]string, len(c.PiecesMM))
	for i, mm := range c.PiecesMM {
		parts[i] = HalfMM(mm)
	}
	return strings.Join(parts, " + ")
}

// offWords says by how much a stack is over or short, "" where it is neither.
func offWords(c jobs.Cutting) string {
	switch {
	case c.OverMM > 0.05:
		return HalfMM(c.OverMM) + " over"
	case c.OverMM < -0.05:
		return HalfMM(-c.OverMM) + " short"
	}
	return ""
}
