package answers

import (
	"fmt"

	"relevel/jobs"
)

// leastCompared is how many places make a map.
const leastCompared = 3

// floor says what two maps of the floor are made of, or why there are none.
func (t *teller) floor(c jobs.Compared) Floor {
	f := Floor{Compared: c, Comparable: len(c.Places) >= leastCompared}
	if !f.Comparable {
		f.Say = t.notComparable(c)
		return f
	}
	on := ""
	if c.Surface != "" {
		on = " on " + c.Surface
	}
	f.Say = fmt.Sprintf("Both maps are made of the same %d places, measured on the floor%s both times.", len(c.Places), on)
	if n := len(c.Other) + len(c.Changed); n > 0 {
		f.Say += fmt.Sprintf(" Left off the maps: %s with another covering, because a height on carpet and one on boards cannot be compared.", count(n, "place"))
	}
	if n := len(c.Once); n > 0 {
		f.Say += fmt.Sprintf(" Left off, too: %s not measured on the floor both before and after.", count(n, "place"))
	}
	return f
}

func (t *teller) notComparable(c jobs.Compared) string {
	switch {
	case len(c.Changed) > 0:
		return "There are no maps to compare: the floor had another covering after the work than before, and a height on carpet and one on boards cannot be compared."
	case len(c.Other) > 0:
		return "There are no maps to compare: too few places were measured on the same covering."
	case t.face() == "floor" && len(c.Once) > 0:
		return "There are no maps to compare: too few places were measured on the floor both before and after the work."
	}
	return "There are no maps to compare: the floor was not measured from above both before and after the work."
}
