package demo

import (
	"math"

	"relevel/events"
)

// Laser is what the crews work with, and Level what they have beside it. They are
// invented like the crews.
const (
	Laser = "rotating laser, demo"
	Level = "optical level, demo"
)

// CheckTwoPeg books a two-peg check that found an instrument's line so much out,
// mm per metre, made on a date and good until another.
func (s *Site) CheckTwoPeg(instrument string, perM float64, on, until string) {
	const (
		apart      = 212 // peg B stands so much lower, mm
		near, far  = 3, 33
		midA, offA = 1402, 1377
	)
	reads := func(mm float64) *events.Length { l := events.MM(math.Round(mm)); return &l }
	s.Record(events.KindInstrumentCheck, &events.InstrumentCheck{
		Instrument: instrument, Sort: events.TwoPeg, On: on, GoodUntil: until,
		Mid: &events.PegMidway{A: reads(midA), B: reads(midA + apart)},
		Off: &events.PegOff{A: reads(offA + perM*near), B: reads(offA + apart + perM*far), ToA: near, ToB: far},
	})
}
