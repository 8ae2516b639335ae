package sheet

import (
	"regexp"
	"strconv"
	"strings"

	"relevel/events"
	"relevel/levelling"
)

// feetAndInches is a unit of a column alone: 4' 3 1/2", 4-3-8 in sixteenths.
// What is read from it is kept in inches.
const feetAndInches = "ft-in"

// units are what a column or a cell may be in, with what people write for them.
var units = map[string]levelling.Unit{
	"mm": levelling.Millimetre, "millimetres": levelling.Millimetre, "cm": levelling.Centimetre,
	"m": levelling.Metre, "metres": levelling.Metre, "in": levelling.Inch, "inches": levelling.Inch,
	"ft": levelling.Foot, "feet": levelling.Foot, feetAndInches: feetAndInches, "ft-in-16": feetAndInches,
}

const aUnit = "mm, cm, m, ft (decimal), in, or ft-in (feet, inches and sixteenths)"

// unitOf reads the name of a unit, "" where it is none.
func unitOf(text string) levelling.Unit { return units[strings.ToLower(strings.TrimSpace(text))] }

// lengthOf reads a length in a unit and keeps it as it was read. The answer says
// what is wrong, "" for nothing.
func lengthOf(cell string, unit levelling.Unit) (events.Length, string) {
	text := strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(cell), guard))
	switch {
	case unit == feetAndInches:
		return feetOf(text)
	case unit == levelling.Inch && strings.Contains(text, "/"):
		return inchesOf(text)
	case unit == levelling.Millimetre && thousands.MatchString(text):
		return events.Length{}, "1234 mm, or a decimal of another length than three figures? Write it without the comma or point"
	}
	v, cure := numberOf(text)
	return events.Length{Value: v, Unit: unit}, cure
}

// thousands is a length in mm that may be meant as thousands or as decimals of
// which no staff has as many.
var thousands = regexp.MustCompile(`^[-−+]?[1-9][0-9]{0,2},[0-9]{3}$`)

var (
	feetMarks  = regexp.MustCompile(`^([-−]?)\s*(\d{1,3})\s*(?:'|′|ft)\s*(?:(\d{1,2}(?:\.\d+)?)?(?:\s*(\d{1,2})\s*/\s*(\d{1,2}))?\s*(?:"|″|''|in)?)?$`)
	feetDashes = regexp.MustCompile(`^([-−]?)\s*(\d{1,3})-(\d{1,2})(?:-(\d{1,2}))?$`)
	inchMarks  = regexp.MustCompile(`^([-−]?)\s*(?:(\d{1,4})\s+)?(\d{1,2})\s*/\s*(\d{1,2})\s*(?:"|″|in)?$`)
)

const aTape = `feet, inches and sixteenths, such as 4' 3 1/2" or 4-3-8`

// feetOf reads feet and inches in either of the ways that they are booked.
func feetOf(text string) (events.Length, string) {
	if m := feetDashes.FindStringSubmatch(text); m != nil {
		return tape(m[1], m[2], m[3], m[4], "16")
	}
	if m := feetMarks.FindStringSubmatch(text); m != nil {
		return tape(m[1], m[2], m[3], m[4], m[5])
	}
	return events.Length{}, aTape
}

// inchesOf reads inches with a fraction.
func inchesOf(text string) (events.Length, string) {
	if m := inchMarks.FindStringSubmatch(text); m != nil {
		return tape(m[1], "0", m[2], m[3], m[4])
	}
	return events.Length{}, "inches with a fraction, such as 51 1/2"
}

// tape puts the parts of a length together, in inches. A part that is not there is
// "". Inches go to 12 only where there are feet.
func tape(sign, feet, inches, over, under string) (events.Length, string) {
	part := func(text string) float64 { v, _ := strconv.ParseFloat(text, 64); return v } // "" is 0
	f, i, o, u := part(feet), part(inches), part(over), 1.0
	if over != "" {
		u = part(under)
	}
	if u == 0 || o >= u || f > 0 && i >= 12 {
		return events.Length{}, aTape
	}
	v := float64(f*12) + i + o/u
	if sign != "" {
		v = -v
	}
	return events.Length{Value: v, Unit: levelling.Inch}, ""
}
