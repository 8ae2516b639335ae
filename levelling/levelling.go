// Package levelling is the arithmetic of bringing a floor back to level:
// heights from staff readings, the level book, targets and remaining lift,
// tolerances. Packages below it hold bearers, single moves and what is reckoned
// under the floor.
//
// It is pure: no clock, no files, no network, no state between calls. Lengths
// are millimetres unless a name says otherwise, plan positions are metres,
// heights are positive upwards. A staff held upside down reads negative.
//
// Products that are then added are written float64(x*y), so that no platform
// fuses them and a decision at a threshold is the same on every machine.
package levelling

import "math"

// InputError says which field of an input is wrong and what it takes. Its text
// is meant for the person who typed the value.
type InputError struct {
	Field string // as the caller names it, for example "rows[3].bs"
	Cure  string // what the field takes, for example "a length in mm, at most 5 000"
}

func (e *InputError) Error() string { return e.Field + ": " + e.Cure }

// Bad is a shorthand for an InputError.
func Bad(field, cure string) error { return &InputError{Field: field, Cure: cure} }

// finite reports whether every x is a number that can be reckoned with.
func finite(xs ...float64) bool {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
