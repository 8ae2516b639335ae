package calc

import (
	"encoding/json"
	"math"

	"relevel/levelling"
)

// number is a result with the decimals to which it is rounded when written.
type number struct {
	value    float64
	decimals int
}

// mm is a length or height in mm, written to 0.001.
func mm(x float64) number { return number{x, 3} }

// kN is a force in kN, or a moment in kN·m, written to 0.0001.
func kN(x float64) number { return number{x, 4} }

// ratio is a plain ratio, written to 1e-6.
func ratio(x float64) number { return number{x, 6} }

// optional is a result that may not exist, which is written as null.
func optional(x *float64, as func(float64) number) *number {
	if x == nil {
		return nil
	}
	n := as(*x)
	return &n
}

// MarshalJSON rounds and writes. Zero has no sign. A value that is not finite is
// an error for the person who typed the input: nothing else can bring it about.
func (n number) MarshalJSON() ([]byte, error) {
	if math.IsNaN(n.value) || math.IsInf(n.value, 0) {
		return nil, levelling.Bad("input", "smaller numbers: a result goes beyond what a number holds")
	}
	return json.Marshal(n.rounded())
}

// rounded leaves alone what is so large that it has no such decimals, which
// scaling could push beyond the largest number.
func (n number) rounded() float64 {
	const whole = 1 << 53
	scale := math.Pow10(n.decimals)
	scaled := n.value * scale
	if math.Abs(scaled) >= whole {
		return n.value
	}
	rounded := math.Round(scaled) / scale
	if rounded == 0 {
		return 0
	}
	return rounded
}
