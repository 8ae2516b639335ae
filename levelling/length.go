package levelling

import (
	"math"
	"strconv"
)

// MaxStaff is the longest staff that anybody carries under a floor, in mm. A
// reading beyond it is a slip of the finger or of the unit.
const MaxStaff = 5000

// CheckStaff returns an InputError for field when a staff reading in mm is
// longer than a staff, either way up.
func CheckStaff(field string, mm float64) error {
	if !(math.Abs(mm) <= MaxStaff) { // NaN fails as well
		return Bad(field, "a staff reading of at most 5 000 mm (5 m, 16.4 ft), negative upside down; is the unit right?")
	}
	return nil
}

// ToMM converts a length as it was typed to millimetres. The error is an
// InputError on "unit" or "value".
func ToMM(value float64, unit Unit) (float64, error) {
	size := unit.MM()
	if size == 0 {
		return 0, Bad("unit", "mm, cm, m, in or ft")
	}
	mm := float64(value * size)
	if !finite(mm) {
		return 0, Bad("value", "a finite length")
	}
	return mm, nil
}

// FromMM converts millimetres to the unit of a staff. The error is an
// InputError on "unit" or "value".
func FromMM(mm float64, unit Unit) (float64, error) {
	size := unit.MM()
	if size == 0 {
		return 0, Bad("unit", "mm, cm, m, in or ft")
	}
	if !finite(mm) {
		return 0, Bad("value", "a finite length")
	}
	return mm / size, nil
}

// FormatMM writes a length in whole millimetres, halves away from zero, as
// "12" or "-3". It never writes "-0".
func FormatMM(mm float64) string { return plain(math.Round(mm), 0) }

// FormatHalfMM writes a length to the half millimetre, as "12" or "12.5": for
// means of repeated readings, which know that much.
func FormatHalfMM(mm float64) string { return plain(math.Round(mm*2)/2, -1) }

// FormatFeet writes a length in feet to the hundredth, as a staff in hundredths
// of a foot reads: "4.92".
func FormatFeet(mm float64) string {
	return plain(halfAway(mm/Foot.MM()*100)/100, 2)
}

// FormatInches writes a length to the sixteenth of an inch in lowest terms:
// "0", "3/16", "1 1/2", "-2".
func FormatInches(mm float64) string {
	n := Sixteenths(mm)
	if !finite(n) {
		return plain(n, 0)
	}
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	whole := math.Floor(n / 16)
	over, under := n-float64(whole*16), 16.0
	for over != 0 && math.Mod(over, 2) == 0 {
		over, under = over/2, under/2
	}
	switch {
	case over == 0:
		return sign + plain(whole, 0)
	case whole == 0:
		return sign + plain(over, 0) + "/" + plain(under, 0)
	}
	return sign + plain(whole, 0) + " " + plain(over, 0) + "/" + plain(under, 0)
}

// Sixteenths returns a length in mm as the nearest whole number of sixteenths
// of an inch, halves away from zero.
func Sixteenths(mm float64) float64 {
	n := halfAway(mm / Inch.MM() * 16)
	if n == 0 {
		return 0 // not the negative zero of a small negative length
	}
	return n
}

// halfAway rounds to a whole number of steps, halves away from zero. A quotient
// that is a half but for its last bits, as 1/32 in in mm is, counts as one: nobody
// reads to a millionth of a step. The conversion keeps arm64 from fusing the product
// that x often is with the sum.
func halfAway(x float64) float64 { return math.Round(float64(x) + math.Copysign(1e-9, x)) }

// plain writes a rounded number without an exponent, the negative zero as "0".
func plain(x float64, decimals int) string {
	if x == 0 {
		x = 0
	}
	return strconv.FormatFloat(x, 'f', decimals, 64)
}
