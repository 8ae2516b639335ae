package jobs

import "math"

// octaves are the ratios of stiffness to load that are followed side by side
// for each bearer: from both halved and doubled to what the plan says. Old
// timber, its joins and what stands on it are not known better than that before
// anything was read.
var octaves = [...]float64{0.25, 0.5, 1, 2, 4}

// perOctave holds a figure for each of the octaves.
type perOctave [len(octaves)]float64

// stiffness is what the readings on one bearer say of its octaves.
type stiffness struct {
	misfit perOctave // sum of squared misfits, each in its own ±
	from   int       // readings that could tell them apart
}

// unread is a bearer of which nothing was read: an octave off is as unlikely as
// a reading off by its ±.
func unread() *stiffness { return &stiffness{misfit: perOctave{4, 1, 0, 1, 4}} }

// learn takes one movement that was read and what each octave led to expect.
func (k *stiffness) learn(read, sd float64, expected perOctave) {
	low, high := expected[0], expected[0]
	for i, mm := range expected {
		low, high = math.Min(low, mm), math.Max(high, mm)
		off := math.Min(math.Abs(read-mm)/sd, outOfReach)
		k.misfit[i] += float64(off * off)
	}
	if high-low > sd {
		k.from++
	}
}

// outOfReach caps what one reading may say against an octave, in its ±: one
// that fits none is no reason to believe the least unlikely.
const outOfReach = 3.0

// shares says how likely each octave is. It falls with the misfit nearly as the
// normal distribution does and needs no exponential, which not every machine
// rounds alike.
func (k *stiffness) shares() perOctave {
	least := k.misfit[0]
	for _, m := range k.misfit {
		least = math.Min(least, m)
	}
	var w perOctave
	sum := 0.0
	for i, m := range k.misfit {
		d := 1 + float64((m-least)/8)
		d *= d
		w[i] = 1 / float64(d*d)
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	return w
}

// expect is the movement to expect where each octave says another, and its ±.
func (k *stiffness) expect(mm perOctave) (mean, sd float64) {
	shares := k.shares()
	for i, w := range shares {
		mean += float64(w * mm[i])
	}
	for i, w := range shares {
		off := mm[i] - mean
		sd += float64(w * float64(off*off))
	}
	return mean, math.Sqrt(sd)
}

// likely is the range of the octaves that nothing speaks against: those less
// than two ± worse than the best.
func (k *stiffness) likely() (low, high int) {
	least := math.Inf(1)
	for _, m := range k.misfit {
		least = math.Min(least, m)
	}
	const twice = 4.0
	low, high = -1, 0
	for i, m := range k.misfit {
		if m <= least+twice {
			high = i
			if low < 0 {
				low = i
			}
		}
	}
	return low, high
}
