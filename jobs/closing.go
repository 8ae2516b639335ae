package jobs

import (
	"time"

	"relevel/events"
	"relevel/levelling"
)

// Closing is the office's decision that a job is done with, or is open again. It
// hinders no recording: what happened is stored, and shown as after it.
type Closing struct {
	Firm   events.ID `json:"-"`
	ID     events.ID `json:"id"`
	Job    events.ID `json:"job"`
	Closed bool      `json:"closed"` // or opened again
	At     time.Time `json:"at"`
	By     events.ID `json:"by,omitzero"`
	Why    string    `json:"why"`
	Seq    int64     `json:"seq"` // the last event that was seen
}

// Check reports, as an InputError, the first field that makes no sense.
func (c Closing) Check() error { return checkName("why", c.Why) }

// checkPlanned takes the days on which a job is to be worked: both, or neither.
func (j Job) checkPlanned() error {
	switch {
	case !isDate(j.PlannedFirst):
		return levelling.Bad("planned_first", "a date, as 2026-03-02, or nothing")
	case !isDate(j.PlannedLast):
		return levelling.Bad("planned_last", "a date, as 2026-03-06, or nothing")
	case j.PlannedFirst == "" && j.PlannedLast != "":
		return levelling.Bad("planned_first", "missing: the first day, where there is a last")
	case j.PlannedLast == "" && j.PlannedFirst != "":
		return levelling.Bad("planned_last", "missing: the last day, the first itself where it is one")
	case j.PlannedLast < j.PlannedFirst:
		return levelling.Bad("planned_last", "a day that is not before the first, "+DayWords(j.PlannedFirst))
	}
	return nil
}

// IsClosed tells whether the office has closed the job.
func (j Job) IsClosed() bool { return !j.ClosedAt.IsZero() }

// Same reports whether two say the same of a job: when one was created or closed,
// and how often it was changed, is not part of that.
func (j Job) Same(other Job) bool {
	for _, one := range []*Job{&j, &other} {
		one.CreatedAt, one.ClosedAt, one.ClosedSeq, one.Revision = time.Time{}, time.Time{}, 0, 0
	}
	return j == other
}
