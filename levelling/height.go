package levelling

import "math"

// Height is an estimate of a height, or of a difference of heights, with its
// standard deviation. The zero value is exactly zero.
type Height struct {
	MM float64 `json:"mm"` // positive upwards
	SD float64 `json:"sd"` // mm, 0 for a height that is defined and not measured
}

// Standard deviations in mm to start with where a firm has set none of its own.
// They are common practice, with no published source.
const (
	ReceiverSD = 1.0 // a staff read with a laser receiver
	TapeSD     = 2.0 // a tape or staff read by eye
	RuleSD     = 1.0 // the rise at a jack by a rule beside it
	DialSD     = 0.1 // the rise at a jack by a dial gauge
	TurnsSD    = 2.0 // the rise at a jack by counting its turns
)

// CriticalValue is what a difference, over its standard deviation, has to
// exceed to be called odd: two-sided 0.1 % of the normal distribution, the
// usual level in testing for blunders in networks (Baarda).
const CriticalValue = 3.2905

// plus adds a height that is independent of h.
func (h Height) plus(o Height) Height { return Height{h.MM + o.MM, rss(h.SD, o.SD)} }

// minus subtracts a height that is independent of h.
func (h Height) minus(o Height) Height { return Height{h.MM - o.MM, rss(h.SD, o.SD)} }

// Upper returns the height of the upper face of a place by its lower one.
func Upper(lower, offset Height) Height { return lower.plus(offset) }

// Reduce returns the height of a face from a staff reading on it: plane −
// staff. Upside down the reading is negative and the face above the plane.
func Reduce(plane Height, staff, sd float64) Height {
	return plane.minus(Height{staff, sd})
}

// Disagrees compares a height just read with the one expected. It returns how
// far the reading lies above it, in mm, and whether that is more than two such
// estimates differ by chance once in a thousand times.
func Disagrees(read, expected Height) (byMM float64, odd bool) {
	by := read.MM - expected.MM
	limit := CriticalValue * rss(read.SD, expected.SD)
	return by, math.Abs(by) > limit
}

// Remaining is the lift that is left at a face, in mm: target − present.
// Negative means that the face is above its target.
func Remaining(target, present float64) float64 { return target - present }

// StopFigure is what the staff must read when a face has come to its target:
// plane − target. The reading falls as the face rises; a negative figure asks
// for the staff upside down, the target being above the plane.
//
// The target is that of the face on which the staff stands: where the floor is
// judged and the bearer is read, it is the floor's target less the offset.
func StopFigure(plane Height, target float64) float64 { return plane.MM - target }

// rss is the standard deviation of a sum of two independent parts. It is made
// of products and a square root alone: math.Hypot is not the same to the last
// bit on every machine.
func rss(a, b float64) float64 { return math.Sqrt(float64(a*a) + float64(b*b)) }
