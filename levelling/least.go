package levelling

import (
	"math"
	"slices"
)

// least has a closed form. That no point lies more than its agreed lowering
// below its height, and no two further apart than a limit, are difference
// constraints: there is one set of heights that meets them and is the lowest at
// every point at once. A point's lowest height is the greatest, over all
// points, of that one's lowest height less the shortest path of limits to it.
// The same the other way up, started from where no point may lie higher without
// a lift more than needed, gives the least lowering.
func (f *floor) least() (Targets, error) {
	start := make([]float64, len(f.points))
	for i, p := range f.points {
		start[i] = p.HeightMM - p.lower()
	}
	lowest := f.bounds.spread(start)
	t := f.settle(f.raised(lowest.height))
	if setBy := f.forcesMost(lowest); setBy >= 0 {
		t.SetBy = f.points[setBy].ID
		t.Chain = f.chain(lowest, f.mostLifted(lowest, setBy))
	}
	blocked := f.blocked(lowest)
	if t.Feasible = blocked < 0; !t.Feasible {
		t.Chain = f.chain(lowest, blocked)
		t.Why = f.forced(lowest, blocked, t.Chain)
	}
	return t, nil
}

// raised undoes the lowering that is not needed.
func (f *floor) raised(lowest []float64) []float64 {
	if !slices.ContainsFunc(f.points, func(p AimPoint) bool { return p.lower() > 0 }) {
		return lowest
	}
	start := make([]float64, len(lowest))
	for i, p := range f.points {
		start[i] = -math.Max(p.HeightMM, lowest[i])
	}
	highest := f.bounds.spread(start).height
	for i := range highest {
		highest[i] = math.Max(lowest[i], -highest[i]) // the first wins by rounding alone
	}
	return highest
}

// lift is how far the others force a point up.
func (f *floor) lift(w wave, i int) float64 {
	if lift := w.height[i] - f.points[i].HeightMM; lift > f.slack {
		return lift
	}
	return 0
}

// forcesMost returns the point that forces the most lift on others, -1 where
// none forces any.
func (f *floor) forcesMost(w wave) int {
	forced := make([]float64, len(f.points))
	for i := range f.points {
		forced[w.source[i]] += f.lift(w, i)
	}
	if at := f.greatest(forced); forced[at] > 0 {
		return at
	}
	return -1
}

// mostLifted returns the point that a source lifts most.
func (f *floor) mostLifted(w wave, source int) int {
	lifts := make([]float64, len(f.points))
	for i := range f.points {
		if int(w.source[i]) == source {
			lifts[i] = f.lift(w, i)
		}
	}
	return f.greatest(lifts)
}

// blocked returns the point that is forced furthest past where it is fixed or
// capped, -1 where none is.
func (f *floor) blocked(w wave) int {
	past := make([]float64, len(f.points))
	for i, p := range f.points {
		past[i] = w.height[i] - p.ceiling()
	}
	if at := f.greatest(past); past[at] > f.slack {
		return at
	}
	return -1
}

// chain follows the limits from the source of a point's height to the point.
func (f *floor) chain(w wave, to int) []Link {
	var links []Link
	for int(w.source[to]) != to {
		from := int(w.before[to])
		links = append(links, f.bounds.link(from, to))
		to = from
	}
	slices.Reverse(links)
	return links
}
