package eventstest

import (
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
)

// The leaves are those of the events, in pages as these are.
func logLeaves(t *testing.T, l *logTest) {
	l.append(l.make.Notes(l.job, 7)...)
	var want []events.Hash
	for _, s := range l.read(l.firm, l.job) {
		want = append(want, s.Leaf)
	}
	for _, page := range []struct {
		after    int64
		limit    int
		from, to int
	}{{0, 100, 0, 7}, {0, 3, 0, 3}, {3, 3, 3, 6}, {6, 3, 6, 7}, {7, 3, 7, 7}, {9, 3, 7, 7}, {-1, 2, 0, 2}, {0, 0, 0, 0}, {2, -1, 2, 2}} {
		got, err := l.log.Leaves(t.Context(), l.firm, l.job, page.after, page.limit)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(append([]events.Hash{}, want[page.from:page.to]...), append([]events.Hash{}, got...)); diff != "" {
			t.Errorf("after %d, %d leaves (-want +got):\n%s", page.after, page.limit, diff)
		}
	}
	for _, other := range []struct{ firm, job events.ID }{{l.firm, NewFirm(t)}, {NewFirm(t), l.job}} {
		if got, err := l.log.Leaves(t.Context(), other.firm, other.job, 0, 10); !errors.Is(err, events.ErrNotFound) {
			t.Errorf("of another job: %v, %v", got, err)
		}
	}
}
