package eventstest

import (
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"relevel/events"
)

// RecordedAt is the time at which the test's server receives things.
var RecordedAt = time.Date(2026, 3, 2, 10, 15, 0, 123_000_000, time.UTC)

// Maker makes the events of one device. It may be used from many goroutines.
type Maker struct {
	Device, By events.ID

	t    testing.TB
	last atomic.Int64
}

// NewMaker makes a device that has recorded nothing yet.
func NewMaker(t testing.TB) *Maker {
	t.Helper()
	return &Maker{Device: NewFirm(t), By: NewFirm(t), t: t}
}

// Event makes the next event of the device, as it would arrive.
func (m *Maker) Event(job events.ID, kind events.Kind, body string) events.Incoming {
	m.t.Helper()
	return m.EventID(NewFirm(m.t), job, kind, body)
}

// EventID is Event under an id of the caller's choice.
func (m *Maker) EventID(id, job events.ID, kind events.Kind, body string) events.Incoming {
	m.t.Helper()
	n := m.last.Add(1)
	at := RecordedAt.Add(time.Duration(n) * time.Second)
	return m.Raw(fmt.Sprintf(
		`{"id":%q,"job":%q,"kind":%q,"v":1,"at":%q,"device":%q,"device_seq":%d,"seen_seq":0,"by":%q,"body":%s}`,
		id, job, kind, at.Format(time.RFC3339Nano), m.Device, n, m.By, body))
}

// Note makes an event of the plainest kind.
func (m *Maker) Note(job events.ID) events.Incoming {
	m.t.Helper()
	return m.Event(job, events.KindNote, fmt.Sprintf(`{"text":"note %d"}`, m.last.Load()+1))
}

// Notes makes n events of the plainest kind.
func (m *Maker) Notes(job events.ID, n int) []events.Incoming {
	m.t.Helper()
	notes := make([]events.Incoming, n)
	for i := range notes {
		notes[i] = m.Note(job)
	}
	return notes
}

// Raw takes bytes as they are, which must hold a readable envelope.
func (m *Maker) Raw(raw string) events.Incoming {
	m.t.Helper()
	in, err := events.Receive([]byte(raw))
	if err != nil {
		m.t.Fatalf("%s: %v", raw, err)
	}
	return in
}

// BatchOf is a batch of events received at RecordedAt.
func BatchOf(firm, job events.ID, list ...events.Incoming) events.Batch {
	return events.Batch{Firm: firm, Job: job, RecordedAt: RecordedAt, Events: list}
}
