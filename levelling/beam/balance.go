package beam

import "math"

// balance turns the bearer, or parts of it, where that takes no energy, so that
// the sum of the squared gaps gets smaller.
func (f *frame) balance() {
	var x []float64
	for i, held := range f.held {
		if !held || math.Abs(f.force[i]) > f.nothing(i) || f.stableWithout(i) {
			continue
		}
		if x == nil {
			x = make([]float64, len(f.unknown))
		}
		f.unit(i, x)
		by := f.turnBy(x, i)
		if by <= f.dip() {
			continue
		}
		f.lifted[i] = true
		for j := range f.gap {
			move := float64(by * x[2*j+1])
			f.height[j] += move
			if !f.held[j] || j == i {
				f.gap[j] += move
			}
		}
	}
}

func (f *frame) stableWithout(i int) bool {
	f.held[i] = false
	ok := f.stable(f.held)
	f.held[i] = true
	return ok
}

// turnBy is how far to raise the bearer at support i, when it turns as x says,
// for the least sum of squared gaps.
func (f *frame) turnBy(x []float64, i int) float64 {
	var across, along float64
	most := math.Inf(1)
	for j, gap := range f.gap {
		if f.held[j] && j != i && !f.lifted[j] {
			continue
		}
		d := x[2*j+1]
		across += float64(gap * d)
		along += float64(d * d)
		if d < 0 {
			most = min(most, max(0, gap)/-d)
		}
	}
	return min(-across/along, most)
}
