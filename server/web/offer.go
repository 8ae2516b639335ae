package web

import (
	"html/template"

	"relevel/jobs"
)

// AgreedAim is an aim as people talk about it: who agreed it and how, what it
// asks, and what stays out.
type AgreedAim struct {
	*jobs.Aim
	When     string // with who recorded it
	Book     string
	Asks     *ProfileAsks // nil where no limits were agreed
	LeftOut  []Fact       // each with its reason
	Limits   []Fact       // how the floor is gone about
	Lacking  []string     // left out, and nobody said why
	Fixed    []string
	Redo     string // the form
	Offer    string // the sheet
	Supports int
}

// OfferPage is the agreed aim on one sheet, for the owner.
type OfferPage struct {
	Frame
	Around
	Agreed  *AgreedAim // nil while nothing is agreed
	Floor   template.HTML
	Causes  []string // open: it may drop again
	Printed string
}

func (OfferPage) page() string { return "offer" }
