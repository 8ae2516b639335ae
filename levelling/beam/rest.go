package beam

import "math"

// verify makes sure that numbers far apart in size left something of the
// result: what the supports carry is what loads the bearer.
func (f *frame) verify() error {
	size, sum := 1.0, 0.0
	for _, r := range f.force {
		sum += r
		size = max(size, math.Abs(r))
	}
	if !(math.Abs(sum-f.load) <= 1e-9*size) {
		return errSize
	}
	return nil
}

// rests turns the result into the units of the input.
func (f *frame) rests() []Rest {
	rests := make([]Rest, len(f.raise))
	dip := f.dip()
	for i := range rests {
		force, gap := f.force[i], max(0, f.gap[i])
		if !f.twoWay && force <= f.nothing(i) {
			force = 0
		}
		rests[i] = Rest{
			ReactionKN: force * f.unitKN,
			MomentKNm:  f.moment[i] * f.unitKN * f.unitM,
			HeightMM:   f.height[i] * f.unitMM,
			GapMM:      gap * f.unitMM,
			Floating:   gap > 1e3*dip,
		}
	}
	return rests
}
