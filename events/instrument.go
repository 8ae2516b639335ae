package events

import (
	"fmt"
	"math"

	"relevel/levelling"
)

// CheckSort is how an instrument was checked.
type CheckSort string

// The checks.
const (
	TwoPeg   CheckSort = "two-peg"   // two pegs, read from midway and from near one of them
	HalfTurn CheckSort = "half-turn" // one wall, marked, and marked again with the laser turned round
)

// InstrumentCheck says how true an instrument was found. It belongs to the
// instrument's name, which is that of its set-ups.
type InstrumentCheck struct {
	Instrument string     `json:"instrument"`
	Sort       CheckSort  `json:"sort"`
	Mid        *PegMidway `json:"mid,omitempty"`        // two-peg
	Off        *PegOff    `json:"off,omitempty"`        // two-peg
	DistanceM  float64    `json:"distance_m,omitempty"` // half-turn: from the laser to the wall
	Difference *Length    `json:"difference,omitempty"` // half-turn: between the two marks, without a sign
	On         string     `json:"on,omitempty"`         // its date, where that is not the day it was recorded
	GoodUntil  string     `json:"good_until,omitempty"` // the firm's own interval; nobody assumes one
	ByWhom     string     `json:"by_whom,omitempty"`    // a workshop, for example
}

// PegMidway is what the staff reads on both pegs from midway, where an error of
// the line is the same on both.
type PegMidway struct {
	A *Length `json:"a"`
	B *Length `json:"b"`
}

// PegOff is what the staff reads on both pegs from a stand that is nearer to
// one, and how far away they are, in metres.
type PegOff struct {
	A   *Length `json:"a"`
	B   *Length `json:"b"`
	ToA float64 `json:"to_a_m"`
	ToB float64 `json:"to_b_m"`
}

// Limits of what a check may say. Sights that differ by less than 2 m show
// nothing but the error of reading; no instrument that still sends a line is
// out by more than 20 mm in a metre.
const (
	minSightM   = 2
	maxErrorPer = 20
)

// Check implements Body.
func (c *InstrumentCheck) Check() error {
	if err := first(text("instrument", c.Instrument), oneOf("sort", c.Sort, TwoPeg, HalfTurn)); err != nil {
		return err
	}
	sort := c.checkTwoPeg
	if c.Sort == HalfTurn {
		sort = c.checkHalfTurn
	}
	return first(sort(), optionalDate("on", c.On), optionalDate("good_until", c.GoodUntil), optionalText("by_whom", c.ByWhom))
}

func (c *InstrumentCheck) checkTwoPeg() error {
	switch {
	case c.DistanceM != 0:
		return levelling.Bad("distance_m", "only of a half-turn")
	case c.Difference != nil:
		return levelling.Bad("difference", "only of a half-turn")
	case c.Mid == nil:
		return levelling.Bad("mid.a", "missing: what the staff reads on peg A from midway")
	case c.Off == nil:
		return levelling.Bad("off.a", "missing: what the staff reads on peg A from the stand near one peg")
	}
	err := first(staff("mid.a", c.Mid.A), staff("mid.b", c.Mid.B), staff("off.a", c.Off.A), staff("off.b", c.Off.B),
		between("off.to_a_m", c.Off.ToA, 0, maxPlanM, "m"), between("off.to_b_m", c.Off.ToB, 0, maxPlanM, "m"))
	if err != nil {
		return err
	}
	if math.Abs(c.Off.ToA-c.Off.ToB) < minSightM {
		return levelling.Bad("off.to_b_m", fmt.Sprintf("at least %d m more or less than to peg A: equal sights show no error", minSightM))
	}
	return plausible("off.a", c.ErrorPerM())
}

func (c *InstrumentCheck) checkHalfTurn() error {
	switch {
	case c.Mid != nil:
		return levelling.Bad("mid.a", "only of a two-peg check")
	case c.Off != nil:
		return levelling.Bad("off.a", "only of a two-peg check")
	case c.Difference == nil:
		return levelling.Bad("difference", "missing: how far apart the two marks are")
	}
	err := first(between("distance_m", c.DistanceM, minSightM, maxPlanM, "m"), between("difference", c.Difference.MM(), 0, 2*maxStaffMM, "mm"))
	if err != nil {
		return err
	}
	return plausible("difference", c.TiltPerM())
}

func plausible(field string, perM float64) error {
	if !(math.Abs(perM) <= maxErrorPer) {
		return levelling.Bad(field, fmt.Sprintf("it makes %.3g mm in a metre, and no instrument is out by more than %d: is a reading or its unit wrong?", perM, maxErrorPer))
	}
	return nil
}

// ErrorPerM is the error of the line by a two-peg check in mm per metre of
// sight, positive where the line points up: the staff then reads too high. It
// is 0 of a half-turn, and has no meaning for a body that Check refuses.
func (c *InstrumentCheck) ErrorPerM() float64 {
	if c.Sort != TwoPeg {
		return 0
	}
	found, err := levelling.PegCheck{
		MidA: c.Mid.A.MM(), MidB: c.Mid.B.MM(), OffA: c.Off.A.MM(), OffB: c.Off.B.MM(), ToA: c.Off.ToA, ToB: c.Off.ToB,
	}.Error()
	if err != nil {
		return 0
	}
	return found.PerMetre
}

// TiltPerM is the tilt by a half-turn, in mm per metre along the line to the
// wall, without a sign: the marks lie 2·distance·tilt apart.
func (c *InstrumentCheck) TiltPerM() float64 {
	if c.Sort != HalfTurn {
		return 0
	}
	return c.Difference.MM() / (2 * c.DistanceM)
}

// Points implements Body.
func (c *InstrumentCheck) Points() []string { return nil }

func optionalDate(field, s string) error {
	if s == "" {
		return nil
	}
	return date(field, s)
}
