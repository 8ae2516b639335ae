package jobs

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// instrumentCheck is what one check said about an instrument. Days are written
// 2026-03-02 and compare as text.
type instrumentCheck struct {
	id    events.ID
	day   string
	until string // the last day it is good for; "" where nobody set one
	sort  events.CheckSort
	perM  float64 // mm per metre: two-peg, its error, up positive; half-turn, its tilt, without a sign
	sd    float64 // two-peg: ± of perM

	behind *instrumentCheck // of a half-turn: the two-peg check before it
}

// instrumentName is the name under which an instrument's checks are kept.
func instrumentName(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// dayOf is the day of a time in the zone it was written in.
func dayOf(at time.Time) string { return at.Format(time.DateOnly) }

// checkOf reads a check. It counts for its whole day: that somebody wrote it
// down after setting up that morning says nothing about the instrument.
func checkOf(e placed, b *events.InstrumentCheck) instrumentCheck {
	c := instrumentCheck{id: e.ID, day: b.On, until: b.GoodUntil, sort: b.Sort, perM: perMOf(b)}
	if c.day == "" {
		c.day = dayOf(e.key.at)
	}
	if b.Sort == events.TwoPeg { // four readings, each with the usual ±
		c.sd = 2 * levelling.ReceiverSD / math.Abs(b.Off.ToA-b.Off.ToB)
	}
	return c
}

// perMOf is what a check of either sort found, mm per metre.
func perMOf(b *events.InstrumentCheck) float64 {
	if b.Sort == events.HalfTurn {
		return b.TiltPerM()
	}
	return b.ErrorPerM()
}

// errorPerM is the error of the line that readings are corrected by, mm per
// metre of sight, positive where the line points up: the staff then reads too
// high by it. Only a two-peg check tells it. A half-turn is no correction,
// since nobody knows which way round the laser stands at a set-up; it does not
// show the error of a cone either, so what a two-peg check before it found
// still holds.
//
// It holds in every direction. The line of a level turns with its telescope;
// and of a rotating laser that keeps its way round the tilt is in the two
// stands of a check with opposite effect, so that what is left is its cone.
func (c instrumentCheck) errorPerM() float64 {
	switch {
	case c.sort == events.TwoPeg:
		return c.perM
	case c.behind != nil:
		return c.behind.errorPerM()
	}
	return 0
}

// sdPerM is the ± of a reading that comes with each metre of sight: that of a
// two-peg's error, and the tilt of a half-turn, whose direction is not known.
func (c instrumentCheck) sdPerM() float64 {
	if c.sort == events.TwoPeg {
		return c.sd
	}
	behind := 0.0
	if c.behind != nil {
		behind = c.behind.sdPerM()
	}
	return math.Sqrt(float64(c.perM*c.perM) + float64(behind*behind))
}

// overdue tells on a day whether the check, or the one it leaves standing, is
// past the day it was good until, and names that day.
func (c instrumentCheck) overdue(day string) (until string, overdue bool) {
	if c.until != "" && c.until < day {
		return c.until, true
	}
	if c.behind != nil {
		return c.behind.overdue(day)
	}
	return "", false
}

// words say what was found, as seen from a day.
func (c instrumentCheck) words(from string) string {
	said := fmt.Sprintf("%s checked %s: %s", c.sort, dayWords(c.day, from), c.found())
	if c.behind != nil {
		said = sentence(said, c.behind.words(from))
	}
	return said
}

func (c instrumentCheck) found() string {
	size := strconv.FormatFloat(math.Round(math.Abs(c.perM)*100)/100, 'f', -1, 64) + " mm per m"
	switch {
	case math.Abs(c.perM) < 0.005:
		return "less than 0.01 mm per m"
	case c.sort == events.HalfTurn:
		return size + " along that line"
	case c.perM > 0:
		return size + " up"
	}
	return size + " down"
}

// dayWords writes a day as "3 Mar", with its year where that is another one.
func dayWords(day, from string) string {
	t, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return day
	}
	if day[:4] == from[:min(4, len(from))] {
		return t.Format("2 Jan")
	}
	return t.Format("2 Jan 2006")
}

// collectChecks makes the checks of a set known before anything is read, since
// one that was made elsewhere may be recorded after the readings it is about.
func (s *State) collectChecks(order []placed) {
	for _, e := range order {
		if _, void := s.voids[e.ID]; void || e.Kind != events.KindInstrumentCheck || e.Erased {
			continue
		}
		if body, err := events.Open(e.Kind, e.V, e.Body); err == nil {
			s.addCheck(e, body.(*events.InstrumentCheck))
		}
	}
}

// addCheck keeps a check in the order of days, and of one day the last
// recorded last. One that was collected before is passed over.
func (s *State) addCheck(e placed, b *events.InstrumentCheck) {
	name := instrumentName(b.Instrument)
	checks := s.checks[name]
	if slices.ContainsFunc(checks, func(c instrumentCheck) bool { return c.id == e.ID }) {
		return
	}
	c := checkOf(e, b)
	at := len(checks)
	for at > 0 && checks[at-1].day > c.day {
		at--
	}
	s.checks[name] = slices.Insert(checks, at, c)
}

// takeCheck takes a check in its turn.
func (s *State) takeCheck(e placed, b *events.InstrumentCheck) {
	s.addCheck(e, b)
	s.lists.add(&s.lists.checks, itemOf(e, b.Instrument, instrumentWords(b)))
	if b.On > dayOf(e.key.at) {
		s.flag(e, "the check of "+b.Instrument+" is dated "+b.On+", after it was recorded")
	}
}

// checksEarlier tells whether an event is a check that counts for a set-up
// which was folded without it.
func (s *State) checksEarlier(e events.Stored) bool {
	if e.Kind != events.KindInstrumentCheck {
		return false
	}
	body, err := events.Open(e.Kind, e.V, e.Body)
	if err != nil {
		return false
	}
	b := body.(*events.InstrumentCheck)
	c := checkOf(placed{e, s.clocks.next(e)}, b)
	return slices.ContainsFunc(s.recent, func(u *setup) bool {
		return instrumentName(u.opened.Instrument) == instrumentName(b.Instrument) && c.day <= dayOf(u.at)
	})
}

// checkAt is the last check of an instrument that was made on or before a day.
// Behind a half-turn stands the two-peg check before it.
func (s *State) checkAt(instrument string, at time.Time) (c instrumentCheck, known bool) {
	day := dayOf(at)
	for _, old := range slices.Backward(s.checks[instrumentName(instrument)]) {
		switch {
		case old.day > day:
		case !known && old.sort == events.TwoPeg:
			return old, true
		case !known:
			c, known = old, true
		case old.sort == events.TwoPeg:
			c.behind = &old
			return c, true
		}
	}
	return c, known
}

// checkWords say how an instrument was last checked, and whether that is past
// the day it was good until.
func (s *State) checkWords(instrument string, at time.Time) (words string, overdue bool) {
	c, known := s.checkAt(instrument, at)
	if !known {
		return "no check of it on this job", false
	}
	if until, past := c.overdue(dayOf(at)); past {
		return "its check was good until " + dayWords(until, dayOf(at)) + ": check it again", true
	}
	return c.words(dayOf(at)), false
}

// overSight is what a sight of some metres does to a staff reading of a set-up:
// by how much the staff reads too high, which comes off, and the ± that comes
// with the distance, beside that of the reading itself. The readings of the
// datums, which set the plane, are as long as their own sights.
func (s *State) overSight(u *setup, metres float64) (high, sd float64) {
	c, _ := s.checkAt(u.opened.Instrument, u.at)
	said, found := u.opened.SDMMPerM, c.sdPerM()
	return float64(c.errorPerM() * metres), float64(metres * math.Sqrt(float64(said*said)+float64(found*found)))
}

// watchCheck flags a set-up of an instrument whose check is out of date.
func (s *State) watchCheck(e placed) {
	if u := s.setups[e.ID]; u != nil {
		if words, overdue := s.checkWords(u.opened.Instrument, u.at); overdue {
			s.flag(e, u.opened.Instrument+": "+words)
		}
	}
}

// fillChecks writes what is known of the instruments into a picture: at each
// set-up as it stood that day, and by name as it stands now.
func (s *State) fillChecks(p *Picture, now time.Time) {
	p.Lists.Checks = values(s.lists.checks)
	for i := range p.Setups {
		u := &p.Setups[i]
		u.Check, u.CheckDue = s.checkWords(u.Instrument, u.At)
	}
	p.Instruments = s.instruments(now)
}

// instruments lists those that were set up or checked, the latest set up first.
func (s *State) instruments(now time.Time) []Instrument {
	var out []Instrument
	add := func(name string) {
		name = strings.TrimSpace(name)
		if !slices.ContainsFunc(out, func(i Instrument) bool { return instrumentName(i.Name) == instrumentName(name) }) {
			words, due := s.checkWords(name, now)
			out = append(out, Instrument{name, words, due})
		}
	}
	for _, u := range slices.Backward(s.recent) {
		add(u.opened.Instrument)
	}
	for _, it := range slices.Backward(s.lists.checks) {
		add(it.Name)
	}
	return out
}

// instrumentWords describe a check in the book.
func instrumentWords(b *events.InstrumentCheck) string {
	words := instrumentCheck{sort: b.Sort, perM: perMOf(b)}.found()
	if b.On != "" {
		words += " on " + b.On
	}
	if b.GoodUntil != "" {
		words += ", good until " + b.GoodUntil
	}
	return sentence(string(b.Sort)+": "+words, b.ByWhom)
}
