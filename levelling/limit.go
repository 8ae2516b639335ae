package levelling

import (
	"fmt"
	"math"
)

// LimitKind says what a limit bounds.
type LimitKind string

// The kinds there are.
const (
	PairLimit  LimitKind = "pair"  // the difference of any two points near enough to each other
	RangeLimit LimitKind = "range" // the difference of the highest and the lowest point
)

// LimitRule says what becomes of a pair limit over less than its length.
type LimitRule string

// The rules there are.
const (
	Flat         LimitRule = "flat"         // the same at every distance
	Proportional LimitRule = "proportional" // × distance / length
	Bands        LimitRule = "bands"        // by the first row of a table that is long enough
	Linear       LimitRule = "linear"       // between the rows of a table
)

// Slack is what rounding may add to a distance that is "at most so many metres",
// or to a difference that is "at most so many mm", relative to the limit:
// points typed as 0.1 and 2.1 m are 2 m apart. It is far below what anybody can
// measure and far above the error of the arithmetic.
const Slack = 1e-9

// Limit is how far points of a floor may differ in height.
type Limit struct {
	Kind  LimitKind
	OverM float64    // of a pair: it holds for every two points at most so far apart, inclusive
	MM    float64    // of a range; of a pair by Flat, or by Proportional at OverM
	Rule  LimitRule  // of a pair
	Table []LimitRow // of a pair by Bands or Linear, metres strictly rising
}

// LimitRow is a row of a limit's table.
type LimitRow struct{ Metres, MM float64 }

// maxRows bounds a table, which is looked through for every two points.
const maxRows = 100

// At returns what two points so many metres apart may differ by, in mm, and
// whether the limit holds for them at all. A range holds at every distance.
// Below the first row of a table its value holds, and that of the last beyond it.
func (l Limit) At(distanceM float64) (mm float64, holds bool) {
	switch {
	case l.Kind == RangeLimit:
		return l.MM, true
	case !atMost(distanceM, l.OverM):
		return 0, false
	}
	switch l.Rule {
	case Proportional:
		return l.MM * math.Min(1, distanceM/l.OverM), true
	case Bands, Linear:
		return l.fromTable(distanceM), true
	}
	return l.MM, true
}

func (l Limit) fromTable(distanceM float64) float64 {
	for i, row := range l.Table {
		switch {
		case !atMost(distanceM, row.Metres):
		case i == 0, l.Rule == Bands:
			return row.MM
		default:
			before := l.Table[i-1]
			part := (distanceM - before.Metres) / (row.Metres - before.Metres)
			return before.MM + float64((row.MM-before.MM)*math.Min(1, part))
		}
	}
	return l.Table[len(l.Table)-1].MM
}

// Check refuses a limit that cannot be, or that a margin taken off it would use
// up: every value it states, in whichever row, has to be above the margin. A
// proportional one is measured by its value at its full length; over less it
// may well fall below the margin, and whoever takes a margin off has to see to
// pairs so close. Errors name the fields of the calculators within field.
func (l Limit) Check(field string, marginMM float64) error {
	switch l.Kind {
	case RangeLimit:
		return checkLimitMM(field+".limit_mm", l.MM, marginMM)
	case PairLimit:
	default:
		return Bad(field+".kind", "one of pair, range")
	}
	if !finite(l.OverM) || l.OverM <= 0 {
		return Bad(field+".over_m", "a length in metres, above 0")
	}
	switch l.Rule {
	case Flat, Proportional:
		return checkLimitMM(field+".limit_mm", l.MM, marginMM)
	case Bands, Linear:
		return l.checkTable(field+".table", marginMM)
	}
	return Bad(field+".rule", "one of flat, proportional, bands, linear")
}

func (l Limit) checkTable(field string, marginMM float64) error {
	if len(l.Table) == 0 || len(l.Table) > maxRows {
		return Bad(field, fmt.Sprintf("rows of metres and mm, from 1 to %d", maxRows))
	}
	last := 0.0
	for i, row := range l.Table {
		at := fmt.Sprintf("%s[%d]", field, i)
		if !finite(row.Metres) || row.Metres < 0 || (i > 0 && row.Metres <= last) {
			return Bad(at, "metres and mm, the metres above those of the row before and not below 0")
		}
		if err := checkLimitMM(at, row.MM, marginMM); err != nil {
			return err
		}
		last = row.Metres
	}
	return nil
}

func checkLimitMM(field string, mm, marginMM float64) error {
	switch {
	case !finite(mm) || mm <= 0:
		return Bad(field, "a limit in mm, above 0")
	case mm <= marginMM:
		return Bad(field, fmt.Sprintf("a limit in mm above the margin of %g that comes off it", marginMM))
	}
	return nil
}

// Distance is how far apart two points of the plan are. It is made of products
// and a square root alone, so that it is the same on every machine.
func Distance(ax, ay, bx, by float64) float64 {
	dx, dy := bx-ax, by-ay
	return math.Sqrt(float64(dx*dx) + float64(dy*dy))
}

// atMost reports x ≤ limit but for rounding.
func atMost(x, limit float64) bool { return x <= limit+float64(Slack*math.Abs(limit)) }
