package eventstest

import (
	"context"
	"errors"
	"testing"

	"relevel/events"
)

// objectsList looks over everything. The store may hold what other tests put there,
// and goes over all of it, in as many pages as that takes.
func objectsList(t *testing.T, s events.Objects) {
	all, ok := s.(events.Lister)
	if !ok {
		t.Fatalf("%T cannot be looked over", s)
	}
	firm := NewFirm(t)
	want := map[events.Key]int64{}
	for n, size := range []events.Size{events.Original, events.Small, events.Large, events.Made} {
		o, body := newObject(firm, 100+n)
		o.Key.Size = size
		mustPut(t, s, o, body)
		want[o.Key] = o.Bytes
	}
	for l, err := range all.List(t.Context()) {
		if err != nil {
			t.Fatal(err)
		}
		if l.Key.Firm != firm {
			continue
		}
		if n, here := want[l.Key]; !here || n != l.Bytes {
			t.Errorf("it lists %+v", l)
		}
		delete(want, l.Key)
	}
	if len(want) > 0 {
		t.Errorf("it does not list %v", want)
	}
	for range all.List(t.Context()) {
		break // whoever has seen enough stops
	}
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	for _, err := range all.List(ended) {
		if !errors.Is(err, context.Canceled) {
			t.Errorf("after its context ended: %v", err)
		}
	}
}
