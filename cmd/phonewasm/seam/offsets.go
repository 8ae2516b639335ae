package seam

import (
	"time"

	"relevel/events"
)

// offsets are those of the clocks' sessions, each as the first event that carries
// one says it. The fold knows them too; here they only date the receipt of what
// was not received yet.
type offsets map[session]said

type session struct {
	device events.ID
	name   string
}

type said struct {
	counter int64
	ms      int64
}

// learn tells whether the event changes what is known of its session.
func (o offsets) learn(e events.Event) bool {
	s := session{e.Device, e.ClockSession}
	first, known := o[s]
	if e.OffsetMS == nil || (known && first.counter <= e.DeviceSeq) {
		return false
	}
	o[s] = said{e.DeviceSeq, *e.OffsetMS}
	return true
}

// A year: a clock that is further off has no date worth correcting.
const maxOffsetMS = 366 * 24 * 3600 * 1000

// correct is the time of an event by the server's clock.
func (o offsets) correct(e events.Event) time.Time {
	ms := max(-maxOffsetMS, min(o[session{e.Device, e.ClockSession}].ms, maxOffsetMS))
	return e.At.Add(time.Duration(ms) * time.Millisecond)
}
