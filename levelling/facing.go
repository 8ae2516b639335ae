package levelling

import "math"

// facing chooses targets by where a plane lies over or under each point.
func (f *floor) facing() (Targets, error) {
	asked, setBy, err := f.asked()
	if err != nil {
		return Targets{}, err
	}
	targets := make([]float64, len(asked))
	for i := range targets {
		targets[i] = f.toward(&f.points[i], asked[i])
	}
	t := f.settle(targets)
	if setBy >= 0 {
		t.SetBy = f.points[setBy].ID
	}
	t.Why = f.whyNotFacing(targets)
	t.Feasible = t.Why == ""
	return t, nil
}

// toward is how far a point goes to where the plane asks it.
func (f *floor) toward(p *AimPoint, asked float64) float64 {
	switch {
	case p.Fixed:
		return p.HeightMM
	case f.goal.Aim != AimLevel: // nothing lies above but by rounding
		return math.Max(asked, p.HeightMM)
	}
	return math.Max(asked, p.HeightMM-p.MaxLower)
}

// asked returns the height of the plane at every point, and the point that sets
// it, -1 for a plane whose height is given.
func (f *floor) asked() ([]float64, int, error) {
	rise := make([]float64, len(f.points))
	if f.goal.Aim == AimPlane {
		for i, p := range f.points {
			rise[i] = float64(f.goal.SlopeX*p.X) + float64(f.goal.SlopeY*p.Y)
		}
	}
	if f.goal.Aim == AimLevel {
		for i := range rise {
			rise[i] = f.goal.HeightMM
		}
		return rise, -1, nil
	}
	over := make([]float64, len(f.points)) // by how much each pushes the plane up
	for i, p := range f.points {
		over[i] = p.HeightMM - rise[i]
	}
	if !finite(over...) {
		return nil, 0, Bad("plane", "a gentler slope: it goes beyond what a number holds")
	}
	setBy := f.greatest(over)
	for i := range rise {
		rise[i] += over[setBy]
	}
	return rise, setBy, nil
}

// whyNotFacing names the point that is furthest past its cap, or else the two
// targets that break a limit by most, "" where neither is.
func (f *floor) whyNotFacing(targets []float64) string {
	past := make([]float64, len(targets))
	for i, p := range f.points {
		past[i] = targets[i] - p.ceiling()
	}
	if at := f.greatest(past); past[at] > f.slack {
		return f.capped(at, targets[at])
	}
	b := f.bounds.worst(targets)
	if b.past <= f.slack {
		return ""
	}
	return f.apart(b, targets)
}
