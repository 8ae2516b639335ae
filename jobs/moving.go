package jobs

import (
	"fmt"
	"math"
	"strings"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// After is what was read since the job was handed over.
type After struct {
	Since  time.Time `json:"since,omitzero"` // the hand-over, if it was recorded
	Places []Moving  `json:"places"`         // those that were read since, new pads last
}

// Moving is whether one place still moves, up positive.
type Moving struct {
	ID         string                 `json:"id"`
	Face       events.Face            `json:"face"`
	Surface    string                 `json:"surface,omitempty"`
	Spot       bool                   `json:"spot,omitempty"`    // read, not lifted
	NewPad     bool                   `json:"new_pad,omitempty"` // poured on this job: it settles first
	MMPerMonth *float64               `json:"mm_per_month,omitempty"`
	Low        *float64               `json:"low,omitempty"` // the band that holds the true rate 95 times in 100
	High       *float64               `json:"high,omitempty"`
	SpanDays   float64                `json:"span_days"`
	Readings   int                    `json:"readings"` // days on which it was read
	Verdict    levelling.TrendVerdict `json:"verdict"`
	Words      string                 `json:"words"`
}

// Place finds what is known of one place. Nothing is known where nothing was
// read since the hand-over.
func (a *After) Place(id string) (Moving, bool) {
	if a != nil {
		for _, m := range a.Places {
			if m.ID == id {
				return m, true
			}
		}
	}
	return Moving{}, false
}

// after lists the places that were read again, new pads last.
func (s *State) after() *After {
	a := &After{Since: s.handed}
	var pads []Moving
	for _, at := range s.floor.plan.Supports {
		p := s.place(at.ID)
		m, known := s.movement(p)
		switch {
		case known && p.work.poured:
			m.NewPad = true
			pads = append(pads, m)
		case known:
			a.Places = append(a.Places, m)
		}
	}
	for _, at := range s.floor.plan.Spots {
		if m, known := s.movement(s.place(at.ID)); known {
			m.Spot = true
			a.Places = append(a.Places, m)
		}
	}
	a.Places = append(a.Places, pads...)
	if len(a.Places) == 0 {
		return nil
	}
	return a
}

// leftAlone is how long after the last move a place must have been read for the
// reading to be about what comes after the job, where nobody recorded the
// hand-over, days. A job rests for days between its rounds.
const leftAlone = 28

// movement judges the face that was read since the job was over.
func (s *State) movement(p *place) (Moving, bool) {
	name, readings := s.readSince(p)
	if len(readings) == 0 {
		return Moving{}, false
	}
	m := judge(readings)
	m.ID, m.Face, m.Surface = p.id, name, p.faces[name].surface
	return m, true
}

// readSince is what was read of a place since the job was over there, by the days
// since then: of the floor, else of the first face below it.
func (s *State) readSince(p *place) (events.Face, []levelling.TrendReading) {
	from := s.watchedFrom(p)
	if from.IsZero() {
		return "", nil
	}
	for _, name := range facesDown {
		f := p.faces[name]
		if f == nil || f.later.moves != s.movesAt(p) {
			continue
		}
		seen := f.later.visits
		if len(seen) == 0 || !s.isAfter(seen[len(seen)-1].at, from) {
			continue
		}
		if readings := f.later.readings(from); len(readings) > 0 {
			return name, readings
		}
	}
	return "", nil
}

func (s *State) isAfter(last, from time.Time) bool {
	if s.handed.IsZero() {
		return daysBetween(from, last) >= leftAlone
	}
	return !sameDay(last, from)
}

// judge says whether a place moves. A straight line tells over a year or more.
// Where the readings swing about it by more than their ±, and where they are too
// few or too short for it, those of like season are compared, since clay moves
// by 20 to 75 mm with the seasons (the classes of AS 2870, at second hand).
func judge(readings []levelling.TrendReading) Moving {
	m := Moving{Readings: len(readings), Verdict: levelling.TooSoon}
	line, err := levelling.Trend(readings)
	if err != nil {
		m.Words = "cannot be reckoned: " + err.Error()
		return m
	}
	m.SpanDays = line.SpanDays
	swings := line.Rate != nil && swing(readings, line.Rate.PerMonth)
	if line.Verdict != levelling.TooSoon && !swings {
		m.put(*line.Rate, line.Verdict, "")
		return m
	}
	if rate, found := likeSeason(readings); found {
		verdict := levelling.Stable
		if rate.Low > 0 || rate.High < 0 {
			verdict = levelling.Moving
		}
		m.put(rate, verdict, ", between readings of like season")
		return m
	}
	if line.Rate != nil {
		m.put(*line.Rate, levelling.TooSoon, "")
	}
	m.Words = m.tooSoon(swings)
	return m
}

func (m *Moving) put(r levelling.Rate, v levelling.TrendVerdict, how string) {
	m.MMPerMonth, m.Low, m.High, m.Verdict = &r.PerMonth, &r.Low, &r.High, v
	m.Words = fmt.Sprintf("%s: %s over %s%s", v, rateWords(r), daysWords(m.SpanDays), how)
}

func (m *Moving) tooSoon(swings bool) string {
	const soon = "too soon to say: "
	switch {
	case m.Readings == 1:
		return soon + "read on one day; a year is needed, since clay moves with the seasons"
	case m.SpanDays < yearDays:
		return soon + daysWords(m.SpanDays) + "; a year is needed, since clay moves with the seasons"
	case swings:
		return soon + "it rises and falls over " + daysWords(m.SpanDays) + "; read it again in a season it was read in before"
	}
	return fmt.Sprintf("%sread on %d days in %s; read it again", soon, m.Readings, daysWords(m.SpanDays))
}

func daysWords(days float64) string {
	if n := math.Round(days); n != 1 {
		return fmt.Sprintf("%.0f days", n)
	}
	return "1 day"
}

// rateWords writes a rate with its band, to the hundredth where the band is
// narrow.
func rateWords(r levelling.Rate) string {
	digits := 1
	if r.High-r.Low < 0.4 {
		digits = 2
	}
	f := func(v float64) string {
		unit := math.Pow10(digits)
		v = math.Round(v*unit)/unit + 0 // no minus before nought
		return strings.Replace(fmt.Sprintf("%.*f", digits, v), "-", "−", 1)
	}
	return fmt.Sprintf("%s mm a month (%s to %s)", f(r.PerMonth), f(r.Low), f(r.High))
}

// swing tells whether any reading lies off the line by more than a reading in
// doubt would.
func swing(readings []levelling.TrendReading, perMonth float64) bool {
	off := func(r levelling.TrendReading) float64 {
		return r.HeightMM - float64(perMonth*(r.Day-readings[0].Day)/levelling.DaysPerMonth)
	}
	var weights, sum float64
	for _, r := range readings {
		w := 1 / float64(r.SD*r.SD)
		weights += w
		sum += float64(w * off(r))
	}
	for _, r := range readings {
		if math.Abs(off(r)-sum/weights) > levelling.CriticalValue*r.SD {
			return true
		}
	}
	return false
}

// Two readings are of like season when they lie a whole number of years apart,
// give or take these days.
const (
	yearDays   = 365.25
	seasonDays = 35
)

// band95 is how many standard deviations hold 95 % of a normal distribution,
// either side.
const band95 = 1.96

// likeSeason is the rate between readings of like season: the mean of as many
// pairs as there are, no reading in two of them, by how well each pair tells.
// The latest reading goes with the earliest of its season, and so on.
func likeSeason(readings []levelling.TrendReading) (levelling.Rate, bool) {
	var weights, sum float64
	used := make([]bool, len(readings))
	for j := len(readings) - 1; j > 0; j-- {
		for i := 0; i < j && !used[j]; i++ {
			a, b := readings[i], readings[j]
			if used[i] || !sameSeason(b.Day-a.Day) {
				continue
			}
			used[i], used[j] = true, true
			months := (b.Day - a.Day) / levelling.DaysPerMonth
			perMonth, sd := (b.HeightMM-a.HeightMM)/months, rss(a.SD, b.SD)/months
			w := 1 / float64(sd*sd)
			weights += w
			sum += float64(w * perMonth)
		}
	}
	if weights == 0 {
		return levelling.Rate{}, false
	}
	rate, band := sum/weights, band95/math.Sqrt(weights)
	return levelling.Rate{PerMonth: rate, Low: rate - band, High: rate + band}, true
}

func sameSeason(days float64) bool {
	years := math.Round(days / yearDays)
	return years >= 1 && math.Abs(days-float64(years*yearDays)) <= seasonDays
}
