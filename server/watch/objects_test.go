package watch_test

import (
	"testing"
	"time"

	"relevel/events"
	"relevel/events/dirphotos"
	"relevel/events/eventstest"
	"relevel/server/watch"
)

// asked keeps how operations ended.
type asked struct {
	watch.Unmetered
	failed map[string]int
	done   map[string]int
}

func (m asked) Asked(op string, failed bool, _ time.Duration) {
	if failed {
		m.failed[op]++
	} else {
		m.done[op]++
	}
}

// A store that is looked at works as it did, and can be looked over where it could.
func TestObjects(t *testing.T) {
	eventstest.Objects(t, func(*testing.T) events.Objects {
		return watch.Objects(&eventstest.MemObjects{}, watch.Unmetered{}, watch.Untraced{})
	})
	folder, err := dirphotos.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer folder.Close()
	if _, ok := watch.Objects(folder, watch.Unmetered{}, watch.Untraced{}).(events.Lister); !ok {
		t.Error("a folder that is looked at cannot be looked over")
	}
}

// A store that is away failed; one that does not have what was asked for did not.
func TestObjectsAreCounted(t *testing.T) {
	m := asked{failed: map[string]int{}, done: map[string]int{}}
	away := false
	o := watch.Objects(&eventstest.MemObjects{Before: func(string) error {
		if away {
			return events.ErrUnavailable
		}
		return nil
	}}, m, watch.Untraced{})
	for range 2 {
		if _, err := o.Stat(t.Context(), events.Key{Firm: events.ID{1}}); err == nil {
			t.Error("what is not there was found")
		}
		away = true
	}
	if m.done["stat"] != 1 || m.failed["stat"] != 1 {
		t.Errorf("done %v, failed %v", m.done, m.failed)
	}
}
