package levelling

import (
	"fmt"
	"slices"
)

// Choice is a goal as somebody who has to choose between goals sees it.
type Choice struct {
	Goal    Goal
	Targets Targets
	// Without is the same goal for the floor without the point that sets it, as if
	// that one were planed down or left out. Nil where no point sets it, or where it
	// is the only one.
	Without *Targets
}

// Trade puts goals beside each other, in the order given: what each asks for,
// which point sets it, and what it would ask for without that one.
func Trade(points []AimPoint, goals ...Goal) ([]Choice, error) {
	choices := make([]Choice, len(goals))
	for i, g := range goals {
		t, err := g.Targets(points)
		if err != nil {
			return nil, fmt.Errorf("choose targets for aim %q: %w", g.Aim, err)
		}
		choices[i] = Choice{Goal: g, Targets: t}
		if t.SetBy == "" || len(points) == 1 {
			continue
		}
		rest := slices.DeleteFunc(slices.Clone(points), func(p AimPoint) bool { return p.ID == t.SetBy })
		without, err := g.Targets(rest)
		if err != nil {
			return nil, fmt.Errorf("choose targets without %q: %w", t.SetBy, err)
		}
		choices[i].Without = &without
	}
	return choices, nil
}
