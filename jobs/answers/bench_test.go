package answers_test

import (
	"testing"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/answers"
)

// BenchmarkOf is the account of a job of 5 000 events, most of them readings.
func BenchmarkOf(b *testing.B) {
	s := newSite(b)
	finished(s)
	for len(s.log) < 5000 {
		if len(s.log)%40 == 0 {
			s.setUp()
		}
		s.look(supports[len(s.log)%len(supports)], "boards", 0)
		if len(s.log)%9 == 0 {
			s.record(events.KindNote, events.Note{Text: "looked at"}, photo("kitchen", events.After))
		}
	}
	state := jobs.Refold(id(0xa, 1), s.log)
	entries := entriesOf(state, s.log)
	for b.Loop() {
		answers.Of(state, entries, answers.About{Job: ofJob, Firm: ofFirm, Zone: zone, Now: s.clock})
	}
}
