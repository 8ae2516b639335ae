package beam

import (
	"fmt"
	"math"

	"relevel/levelling"
)

// errSize is for numbers that leave what a float64 holds, or that differ so
// much in size that nothing is left of the smaller ones.
var errSize = levelling.Bad("input", "numbers nearer to each other in size: a result goes beyond what a number holds")

func finite(xs ...float64) bool {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

// item names an element of a list as the calculator does.
func item(list string, i int, field string) string {
	if field == "" {
		return fmt.Sprintf("%s[%d]", list, i)
	}
	return fmt.Sprintf("%s[%d].%s", list, i, field)
}

func (b Bearer) check() error {
	if len(b.Spans) == 0 {
		return levelling.Bad("spans_m", "the lengths of the spans in m, at least one")
	}
	for i, s := range b.Spans {
		if err := s.check(i); err != nil {
			return err
		}
	}
	if err := b.checkSupports(); err != nil {
		return err
	}
	for i, l := range b.Loads {
		if err := b.checkLoad(i, l); err != nil {
			return err
		}
	}
	return b.checkJoins()
}

func (s Span) check(i int) error {
	switch {
	case !finite(s.LengthM) || s.LengthM <= 0:
		return levelling.Bad(item("spans_m", i, ""), "the length of the span in m, above 0")
	case !finite(s.EI) || s.EI <= 0:
		return levelling.Bad(item("ei_knm2", i, ""), "the stiffness EI of the span in kN·m², above 0")
	case !finite(s.UDL):
		return levelling.Bad(item("udl_kn_m", i, ""), "the uniform load in kN/m, positive downwards")
	}
	return nil
}

func (b Bearer) checkSupports() error {
	if len(b.Supports) != len(b.Spans)+1 {
		return levelling.Bad("supports", fmt.Sprintf("one more than there are spans, %d; there are %d", len(b.Spans)+1, len(b.Supports)))
	}
	for i, s := range b.Supports {
		switch {
		case !finite(s.RaiseMM):
			return levelling.Bad(item("supports", i, "raise_mm"), "its raise in mm, positive upwards")
		case !finite(s.Stiffness) || s.Stiffness < 0:
			return levelling.Bad(item("supports", i, "stiffness_kn_mm"), "its stiffness in kN/mm, above 0, or null for rigid")
		}
	}
	return nil
}

func (b Bearer) checkLoad(i int, l PointLoad) error {
	switch {
	case l.Span < 0 || l.Span >= len(b.Spans):
		return levelling.Bad(item("point_loads", i, "span"), fmt.Sprintf("the number of a span, from 1 to %d", len(b.Spans)))
	case !finite(l.AtM) || l.AtM < 0 || l.AtM > b.Spans[l.Span].LengthM:
		return levelling.Bad(item("point_loads", i, "at_m"), "the distance from the left end of the span in m, from 0 to its length")
	case !finite(l.KN):
		return levelling.Bad(item("point_loads", i, "load_kn"), "the load in kN, positive downwards")
	}
	return nil
}

func (b Bearer) checkJoins() error {
	seen := make(map[int]bool, len(b.Joins))
	for i, at := range b.Joins {
		switch {
		case at <= 0 || at >= len(b.Spans):
			return levelling.Bad(item("joins", i, ""), "the number of a support between the two at the ends")
		case seen[at]:
			return levelling.Bad(item("joins", i, ""), "every support named once")
		}
		seen[at] = true
	}
	return nil
}
