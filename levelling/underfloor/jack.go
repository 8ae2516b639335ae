package underfloor

import "math"

// Jack is a hydraulic jack and what its gauge shows.
type Jack struct {
	BoreMM      float64 // of the ram
	PressureMPa float64
	RatedKN     *float64 // as marked on it
}

// Push is what a jack pushes with, kN.
type Push struct {
	ForceKN, LowKN, HighKN float64
	OverRating             *bool // nil where no rating is known
}

// gaugePart is what a gauge may be off by either way, read while the ram is
// rising (common practice, no source).
const gaugePart = 0.1

// Push is pressure times the area of the ram, p·πD²/4. It counts as over the
// rating as soon as it may be, so when the upper end of its range is: 29 CFR
// 1926.305 wants the marked capacity not exceeded, and a gauge does not tell the
// force better than that.
func (j Jack) Push() (Push, error) {
	err := first(
		need(above(j.BoreMM, 0), "bore_mm", "the bore of the ram in mm, above 0"),
		need(atLeast(j.PressureMPa, 0), "pressure_mpa", "what the gauge shows in MPa, 0 or more"),
		need(j.RatedKN == nil || above(*j.RatedKN, 0), "rated_kn", "what the jack is marked with in kN, above 0"))
	if err != nil {
		return Push{}, err
	}
	area := j.BoreMM * j.BoreMM * (math.Pi / 4)
	force := j.PressureMPa * area / 1000
	p := Push{ForceKN: force, LowKN: force * (1 - gaugePart), HighKN: force * (1 + gaugePart)}
	if !finite(p.HighKN) {
		return Push{}, errSize
	}
	if j.RatedKN != nil {
		over := p.HighKN > *j.RatedKN
		p.OverRating = &over
	}
	return p, nil
}
