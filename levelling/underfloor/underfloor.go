// Package underfloor is the handbook figures around a support: what a packer is
// made of, what it loses by drying, what presses on it, what a pad has to be, how
// much air a floor wants, what a jack pushes.
//
// Every figure has its source beside it: a standard or handbook that was read,
// one at second hand, or from memory, as said there. None is a design: an
// engineer, the local code and licensed people decide. Errors are InputErrors by
// the fields of the calculators.
package underfloor

import (
	"math"

	"relevel/levelling"
)

// atLeast reports whether a number can be reckoned with and is not below a bound.
func atLeast(x, bound float64) bool { return x >= bound && !math.IsInf(x, 0) }

// above is the same for more than a bound.
func above(x, bound float64) bool { return x > bound && !math.IsInf(x, 0) }

// first returns the first error there is.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// need is an InputError unless a field is right.
func need(right bool, field, cure string) error {
	if right {
		return nil
	}
	return levelling.Bad(field, cure)
}

// errSize is the answer to numbers so large that a result leaves what a number holds.
var errSize = levelling.Bad("input", "smaller numbers: a result goes beyond what a number holds")

func finite(xs ...float64) bool {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
