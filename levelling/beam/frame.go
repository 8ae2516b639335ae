package beam

import "math"

// frame is a bearer in units of its own, so that what is large or small does
// not depend on those of the input: the mean span, the greatest EI, all load
// there is (or, without load, what bends the bearer by its raises), and the
// deflection that these make.
//
// Its unknowns are, for every support, the moment in the bearer and the height
// of the bearer. A beam told in both is exact to rounding where either alone is
// not: moments alone cannot say floating, heights alone lose the load among the
// stiffnesses when a long part floats.
type frame struct {
	length   []float64 // by span
	longest  float64
	flex     []float64 // by span: L/6EI
	uniform  []float64 // by span: its uniform load in all
	shear    []float64 // by support: what it would carry if every span ended there
	turn     []float64 // by support: the kink there would be, of the loads
	raise    []float64 // by support
	give     []float64 // by support: how far it gives under a unit of load
	hinge    []bool    // by support: no moment passes
	twoWay   bool
	pulledUp bool // by a point load

	held    []bool // by support: the bearer bears on it
	moment  []float64
	height  []float64
	force   []float64 // reactions
	gap     []float64
	load    float64 // the sum of all loads, down or up
	lifted  []bool  // by support: within held, but turned away from in balance
	system  *band
	unknown []float64
	rest    []float64 // what the unknowns leave of the right side

	unitM, unitKN, unitMM float64 // of length, force and height
}

func newFrame(b Bearer) *frame {
	f := emptyFrame(len(b.Supports))
	f.twoWay = b.TwoWay
	ei := f.units(b)
	for i, s := range b.Spans {
		f.length[i] = s.LengthM / f.unitM
		f.longest = max(f.longest, f.length[i])
		f.flex[i] = f.length[i] / (6 * (s.EI / ei))
		f.uniform[i] = s.UDL * s.LengthM / f.unitKN
		f.addUniform(i, f.uniform[i])
	}
	for _, l := range b.Loads {
		f.addPoint(l.Span, l.AtM/f.unitM, l.KN/f.unitKN)
		f.pulledUp = f.pulledUp || l.KN < 0
	}
	for i, s := range b.Supports {
		f.raise[i] = s.RaiseMM / f.unitMM
		if s.Stiffness != Rigid {
			f.give[i] = f.unitKN / s.Stiffness / f.unitMM
		}
	}
	f.hinge[0], f.hinge[len(b.Spans)] = true, true
	for _, at := range b.Joins {
		f.hinge[at] = true
	}
	return f
}

// emptyFrame makes room for a bearer on n supports.
func emptyFrame(n int) *frame {
	f := &frame{system: newBand(2 * n), unknown: make([]float64, 2*n), rest: make([]float64, 2*n)}
	numbers := make([]float64, 11*n)
	for i, list := range []*[]float64{
		&f.length, &f.flex, &f.uniform, &f.shear, &f.turn, &f.raise, &f.give, &f.moment, &f.height, &f.force, &f.gap,
	} {
		size := n
		if i < 3 { // by span
			size--
		}
		*list = numbers[i*n : i*n+size : i*n+size]
	}
	flags := make([]bool, 3*n)
	f.hinge, f.held, f.lifted = flags[:n:n], flags[n:2*n:2*n], flags[2*n:]
	return f
}

// units chooses the units and returns that of EI.
func (f *frame) units(b Bearer) (ei float64) {
	var total, weight, raise float64
	for _, s := range b.Spans {
		total += s.LengthM
		ei = max(ei, s.EI)
		weight += math.Abs(float64(s.UDL * s.LengthM))
	}
	for _, l := range b.Loads {
		weight += math.Abs(l.KN)
	}
	for _, s := range b.Supports {
		raise = max(raise, math.Abs(s.RaiseMM))
	}
	f.unitM = total / float64(len(b.Spans))
	bends := ei / f.unitM / f.unitM / f.unitM / 1000 // kN by which it bends 1 mm
	switch {
	case weight > 0:
		f.unitKN = weight
	case raise > 0:
		f.unitKN = bends * raise
	default:
		f.unitKN = bends
	}
	f.unitMM = f.unitKN / bends
	return ei
}

// addUniform adds a load spread over a span, which it loads with so much in all.
func (f *frame) addUniform(span int, load float64) {
	half := float64(load * 0.5)
	kink := float64(half * 0.5 * f.length[span] * f.flex[span])
	f.add(span, half, half, kink, kink)
}

// addPoint adds a load at one place of a span.
func (f *frame) addPoint(span int, at, load float64) {
	l := f.length[span]
	a := min(at/l, 1)
	b := 1 - a
	kink := load * a * b * l * f.flex[span]
	f.add(span, float64(load*b), float64(load*a), float64(kink*(1+b)), float64(kink*(1+a)))
}

// add adds what a load on a span that ended at both its supports would do
// there.
func (f *frame) add(span int, left, right, turnLeft, turnRight float64) {
	f.shear[span] += left
	f.shear[span+1] += right
	f.turn[span] += turnLeft
	f.turn[span+1] += turnRight
	f.load += left + right
}

func (f *frame) finite() bool {
	for _, xs := range [][]float64{f.length, f.flex, f.shear, f.turn, f.raise, f.give} {
		if !finite(xs...) {
			return false
		}
	}
	return true
}

// weak is a pull towards every support that is not held, in place of the load
// that a balanced bearer lacks. It is nothing beside the bearer's stiffness over
// its whole length.
func (f *frame) weak() float64 {
	n := float64(len(f.raise))
	return 1e-9 / (n * n * n * n)
}

// solve finds moments, heights, reactions and gaps for the supports held, or
// fails where they leave the bearer free to turn.
func (f *frame) solve() bool {
	if !f.factor(f.held, 0) {
		return false
	}
	clear(f.unknown)
	f.refine()
	for i := range f.raise {
		f.moment[i], f.height[i] = f.unknown[2*i], f.unknown[2*i+1]
		f.force[i], f.gap[i] = 0, f.height[i]-f.raise[i]
		if f.held[i] {
			f.force[i], f.gap[i] = f.shear[i]-f.drop(f.unknown, i), 0
			if f.give[i] == 0 {
				f.height[i] = f.raise[i] // as it was set, without rounding
			}
		}
	}
	return finite(f.unknown...)
}

// refine solves for the unknowns and then for what they leave of the loads,
// again and again as long as that helps. Where raises are huge beside the
// deflection, rounding of heights gets into moments that have nothing to do with
// them; a support in balance would then seem to pull.
func (f *frame) refine() {
	f.remainder()
	last := math.Inf(1)
	for pass := range 40 { // each leaves some 1e-10 of the error, of numbers up to 1e308
		f.system.solve(f.rest)
		for k, x := range f.rest {
			f.unknown[k] += x
		}
		left := f.remainder()
		if left <= noPull/100 || !(left <= last/2) {
			return
		}
		if pass > 0 { // what is left of the kinks is rounding of heights, for good
			last = left
			for i := range f.raise {
				f.rest[2*i] = 0
			}
		}
	}
}

// remainder is the right side less what the unknowns make of the left. It
// returns the greatest load that is left, without the supports held.
func (f *frame) remainder() (most float64) {
	for i := range f.raise {
		turn, force := -f.unknown[2*i], f.shear[i]-f.drop(f.unknown, i)
		if !f.hinge[i] {
			turn = -f.turn[i] - f.kink(f.unknown, i)
		}
		if f.held[i] {
			force = (f.raise[i] - f.unknown[2*i+1] - float64(f.give[i]*force)) / (1 + f.give[i])
		}
		f.rest[2*i], f.rest[2*i+1] = turn, force
	}
	for i := range f.raise {
		if !f.held[i] {
			most = max(most, math.Abs(f.rest[2*i+1]))
		}
	}
	return most
}

// unit finds what raising one support that is held by 1 does: the moments and
// heights, in turn, into the room given.
func (f *frame) unit(i int, x []float64) {
	clear(x)
	x[2*i+1] = 1 / (1 + f.give[i])
	f.system.solve(x)
}

// factor sets up and takes apart the equations for a set of supports held; the
// others pull by weak.
func (f *frame) factor(held []bool, weak float64) bool {
	f.system.clear()
	for i := range f.raise {
		f.setTurn(i)
		if held[i] {
			f.setForce(i, -f.give[i]/(1+f.give[i]))
			f.system.set(2*i+1, 2*i+1, 1/(1+f.give[i]))
		} else {
			f.setForce(i, 1)
			f.system.set(2*i+1, 2*i+1, -weak)
		}
	}
	return f.system.factor()
}

// setTurn writes that the bearer has no kink over a support, or at its end or a
// hinge no moment.
func (f *frame) setTurn(i int) {
	row := 2 * i
	if f.hinge[i] {
		f.system.set(row, row, 1)
		return
	}
	a, b := 1/f.length[i-1], 1/f.length[i]
	f.system.set(row, row-2, f.flex[i-1])
	f.system.set(row, row, 2*(f.flex[i-1]+f.flex[i]))
	f.system.set(row, row+2, f.flex[i])
	f.system.set(row, row-1, -a)
	f.system.set(row, row+1, a+b)
	f.system.set(row, row+3, -b)
}

// setForce writes so many times the part of a reaction that moments take away.
func (f *frame) setForce(i int, times float64) {
	row, own := 2*i+1, 0.0
	if i > 0 {
		f.system.set(row, 2*i-2, -times/f.length[i-1])
		own += 1 / f.length[i-1]
	}
	if i < len(f.length) {
		f.system.set(row, 2*i+2, -times/f.length[i])
		own += 1 / f.length[i]
	}
	f.system.set(row, 2*i, times*own)
}

// kink is how far the bearer turns over a support by its moments and heights.
func (f *frame) kink(x []float64, i int) float64 {
	k := 2 * i
	left := float64(f.flex[i-1]*(x[k-2]+2*x[k])) + (x[k+1]-x[k-1])/f.length[i-1]
	right := float64(f.flex[i]*(x[k+2]+2*x[k])) + (x[k+1]-x[k+3])/f.length[i]
	return left + right
}

// drop is the part of a reaction that moments take away.
func (f *frame) drop(x []float64, i int) (sum float64) {
	if i > 0 {
		sum += (x[2*i] - x[2*i-2]) / f.length[i-1]
	}
	if i < len(f.length) {
		sum += (x[2*i] - x[2*i+2]) / f.length[i]
	}
	return sum
}
