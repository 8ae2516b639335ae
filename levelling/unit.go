package levelling

// Unit is a unit of length on a staff, a rule or a screen. What was read is
// stored with its unit; arithmetic is done in millimetres.
type Unit string

// The units people read.
const (
	Millimetre Unit = "mm"
	Centimetre Unit = "cm"
	Metre      Unit = "m"
	Inch       Unit = "in" // decimal; a sixteenth is 0.0625
	Foot       Unit = "ft" // decimal, as on an engineer's rod
)

// MM is how many millimetres one of the unit is, and 0 for an unknown unit. An
// inch is 25.4 mm by definition (international yard and pound agreement, 1959).
func (u Unit) MM() float64 {
	switch u {
	case Millimetre:
		return 1
	case Centimetre:
		return 10
	case Metre:
		return 1000
	case Inch:
		return 25.4
	case Foot:
		return 304.8
	}
	return 0
}
