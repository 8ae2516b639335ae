package jobs_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

// What carries the floor is taken away by the name it was given, so the picture
// says that, too.
func TestBlockingsThatStand(t *testing.T) {
	s, _ := agreed(t)
	s.record(events.KindBlocking, events.Blocking{Place: "K2", Supports: []string{"B1-3"}, What: "props", Base: "ground"})
	s.record(events.KindBlocking, events.Blocking{Place: "K1", Supports: []string{"B1-1", "B1-2"}, What: "crossed timbers", Base: "sleepers"})
	want := []jobs.Blocking{{Place: "K1", Supports: []string{"B1-1", "B1-2"}}, {Place: "K2", Supports: []string{"B1-3"}}}
	if diff := cmp.Diff(want, s.picture().Blockings); diff != "" {
		t.Error(diff)
	}
	s.record(events.KindBlockingRemoved, events.BlockingRemoved{Place: "K1"})
	if diff := cmp.Diff(want[1:], s.picture().Blockings); diff != "" {
		t.Error(diff)
	}
}
