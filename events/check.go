package events

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"relevel/levelling"
)

// Limits of what one body may say. Anything beyond is a slip of the thumb: no
// staff is longer than 5 m, no house wider than 500 m, no packer thicker than
// 300 mm.
const (
	maxStaffMM  = 5000
	maxMoveMM   = 300
	maxPlanM    = 500
	maxTextLen  = 4000
	maxPlaceLen = 40
)

// first returns the first error of a list of checks.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func oneOf[T ~string](field string, got T, allowed ...T) error {
	if slices.Contains(allowed, got) {
		return nil
	}
	names := make([]string, len(allowed))
	for i, a := range allowed {
		names[i] = string(a)
	}
	return levelling.Bad(field, "one of "+strings.Join(names, ", "))
}

// place checks the name of a support, spot, datum or bearer.
func place(field, name string) error {
	if name == "" || len(name) > maxPlaceLen {
		return levelling.Bad(field, "missing or too long: a name from the plan, for example B2-3")
	}
	return nil
}

func places(field string, names []string) error {
	for i, n := range names {
		if err := place(fmt.Sprintf("%s[%d]", field, i), n); err != nil {
			return err
		}
	}
	return nil
}

func somePlaces(field string, names []string) error {
	if len(names) == 0 {
		return levelling.Bad(field, "missing: at least one name from the plan")
	}
	return places(field, names)
}

func text(field, s string) error {
	if strings.TrimSpace(s) == "" {
		return levelling.Bad(field, "missing: a few words")
	}
	return optionalText(field, s)
}

func optionalText(field, s string) error {
	if len(s) > maxTextLen {
		return levelling.Bad(field, "at most 4 000 characters")
	}
	return nil
}

func between(field string, v, low, high float64, unit string) error {
	if math.IsNaN(v) || v < low || v > high {
		return levelling.Bad(field, fmt.Sprintf("between %g and %g %s, not %g", low, high, unit, v))
	}
	return nil
}

func staff(field string, l *Length) error {
	if l == nil {
		return levelling.Bad(field, "missing: what the staff reads")
	}
	return between(field, l.MM(), -maxStaffMM, maxStaffMM, "mm of staff")
}

func thickness(field string, l *Length) error {
	if l == nil {
		return nil
	}
	return between(field, l.MM(), 0, maxMoveMM, "mm")
}

func someID(field string, id ID) error {
	if id.IsZero() {
		return levelling.Bad(field, "missing: the id of an earlier event")
	}
	return nil
}
