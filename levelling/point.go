package levelling

// point is a point of a floor as it comes in.
type point interface {
	name() string
	check(i int) error // as the ith of "points"
}

// checkEach checks points in their order, and that no two have one name.
func checkEach[P point](points []P) error {
	seen := make(map[string]bool, len(points))
	for i, p := range points {
		if err := p.check(i); err != nil {
			return err
		}
		if seen[p.name()] {
			return Bad(indexed("points", i, "id"), "a name of its own; "+quote(p.name())+" is there twice")
		}
		seen[p.name()] = true
	}
	return nil
}
