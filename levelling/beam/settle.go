package beam

import (
	"math"
	"slices"

	"relevel/levelling"
)

const (
	// noPull is the pull, as a part of the whole load, that is rounding: a
	// support with no more carries nothing. Beside short spans, where a little
	// moment is a large pair of forces, it is noLever for each time that the
	// longest span is longer.
	noPull  = 1e-11
	noLever = 1e-13
	// noDip is how far below a support, as a part of the raises or the
	// deflection, the bearer may lie by rounding.
	noDip = 1e-12
	// quickRounds bounds the exchange of many supports at a time, which is done
	// after two or three or not at all.
	quickRounds = 8
)

// settle finds on which supports the bearer bears.
//
// That is a convex quadratic program: the bearer takes the form of the least
// energy among those that lie on or above their supports. First, all supports
// that are wrong are exchanged at once, round after round, which is quick and
// mostly enough but may go in circles. Where it does not end, settleOneByOne
// decides, which always does.
func (f *frame) settle() error {
	f.holdAll()
	if f.twoWay {
		if !f.solve() {
			return errSize
		}
		return nil
	}
	if !f.settleAtOnce() {
		if err := f.settleOneByOne(); err != nil {
			return err
		}
	}
	f.balance()
	return nil
}

func (f *frame) holdAll() {
	for i := range f.held {
		f.held[i] = true
	}
}

// settleAtOnce lets go of all supports that would pull and holds all into which
// the bearer would sink. It reports whether that ended.
func (f *frame) settleAtOnce() bool {
	for range quickRounds {
		if !f.stable(f.held) || !f.solve() {
			return false
		}
		dip, wrong := f.dip(), false
		for i := range f.held {
			if f.held[i] && f.force[i] < -f.nothing(i) || !f.held[i] && f.gap[i] < -dip {
				f.held[i] = !f.held[i]
				wrong = true
			}
		}
		if !wrong {
			return true
		}
	}
	return false
}

// nothing is the pull that counts as none at one support, in the frame's units.
func (f *frame) nothing(i int) float64 {
	short := math.Inf(1)
	if i > 0 {
		short = f.length[i-1]
	}
	if i < len(f.length) {
		short = min(short, f.length[i])
	}
	return max(noPull, noLever*f.longest/short)
}

// dip is noDip in the frame's units.
func (f *frame) dip() float64 {
	size := 1.0
	for _, h := range f.raise {
		size = max(size, math.Abs(h))
	}
	return noDip * size
}

// settleOneByOne is the primal active set method. It starts with the bearer
// drawn down on all its supports, which is a form that can be, and goes from
// one such form to another of less energy, exchanging one support at a time; a
// set of supports that holds the bearer has one form of least energy, so none
// comes twice and it ends. Where several supports decide at once and a step has
// no length, the first of them is taken, which cannot go in circles either (Y.-Y.
// Chang and R. W. Cottle, Least-index resolution of degeneracy in quadratic
// programming, Mathematical Programming 18, 1980). The bound on the rounds is
// for what rounding could make of that.
func (f *frame) settleOneByOne() error {
	f.holdAll()
	gap := make([]float64, len(f.gap))
	dip, still := f.dip(), false
	for range 100 + 20*len(f.held) {
		if !f.solve() {
			return errSize
		}
		if at, share := f.blocked(gap, f.gap, dip); at >= 0 {
			still = share == 0
			advance(gap, f.gap, share)
			f.held[at], gap[at] = true, 0
			continue
		}
		copy(gap, f.gap)
		pulls := f.pulls(still)
		if pulls < 0 {
			return nil
		}
		still = false
		if err := f.release(pulls, gap, dip); err != nil {
			return err
		}
	}
	return errSize
}

// blocked returns the support on which the bearer comes to lie first on the way
// from some gaps to others, and after which share of the way; or -1.
func (f *frame) blocked(from, to []float64, dip float64) (at int, share float64) {
	at, share = -1, math.Inf(1)
	for i, held := range f.held {
		if held || to[i] >= -dip {
			continue
		}
		if s := from[i] / (from[i] - to[i]); s < share {
			at, share = i, s
		}
	}
	return at, min(share, 1)
}

// advance goes a share of the way from some gaps to others.
func advance(gap, to []float64, share float64) {
	for i := range gap {
		gap[i] = max(0, gap[i]+float64(share*(to[i]-gap[i])))
	}
}

// pulls returns the support that pulls most, after a step of no length the
// first that pulls; or -1.
func (f *frame) pulls(still bool) int {
	worst := -1
	for i, held := range f.held {
		if !held || f.force[i] >= -f.nothing(i) {
			continue
		}
		if worst < 0 || f.force[i] < f.force[worst] {
			worst = i
		}
		if still {
			break
		}
	}
	return worst
}

// release lets go of a support that pulls. Where that leaves the bearer free to
// turn, it turns until it comes to lie on another, which is held in its place.
func (f *frame) release(pulls int, gap []float64, dip float64) error {
	f.held[pulls] = false
	if f.stable(f.held) {
		return nil
	}
	turned := make([]float64, len(f.unknown))
	f.unit(pulls, turned)
	at, share := -1, math.Inf(1)
	for i, held := range f.held {
		if d := turned[2*i+1]; i != pulls && !held && d < 0 {
			if s := gap[i] / -d; s < share {
				at, share = i, s
			}
		}
	}
	if at < 0 {
		return f.liftsOff()
	}
	for i, held := range f.held {
		if !held {
			gap[i] = max(0, gap[i]+float64(share*turned[2*i+1]))
		}
	}
	f.held[at], gap[at] = true, 0
	return nil
}

// liftsOff is the error for a bearer, or a part of it from join to join, that
// more lifts than presses. Where nothing lifts that is rounding.
func (f *frame) liftsOff() error {
	field := "point_loads"
	switch {
	case slices.ContainsFunc(f.uniform, func(load float64) bool { return load < 0 }):
		field = "udl_kn_m"
	case !f.pulledUp:
		return errSize
	}
	return levelling.Bad(field, "loads that press every part of the bearer, from join to join, onto supports that only carry")
}

// stable reports whether a set of supports leaves no part of the bearer free to
// move. Parts meet at joins. A part that bears between its ends ties these to
// each other: one height gives the other. Ends tied so have one height to be
// given, by a support under one of them or by a part that bears at two places.
func (f *frame) stable(held []bool) bool {
	given, bears := held[0], 0
	for i := 1; i < len(held); i++ {
		if !f.hinge[i] {
			if held[i] {
				bears++
			}
			continue
		}
		switch {
		case bears == 0 && !given:
			return false
		case bears == 0:
			given = held[i]
		default:
			given = given || held[i] || bears > 1
		}
		bears = 0
	}
	return given
}
