package jobs_test

import (
	"reflect"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

// shared are the types that a clone may share, since nothing changes them once
// they are made.
var shared = map[string]string{
	"*jobs.aim":                        "made anew by every aim",
	"*jobs.frozen":                     "frozen",
	"*events.Packing":                  "made anew by every packing",
	"*events.Length":                   "a value of a body",
	"*events.Joists":                   "a value of a plan",
	"*events.Underlay":                 "a value of a plan",
	"*events.Position":                 "a value of a body",
	"*jobs.girder":                     "made anew by every plan",
	"*int64":                           "a value of an event",
	"*time.Location":                   "of a time",
	"map[string][]string":              "a floor's neighbours are made anew by every plan",
	"map[string]string":                "and so are its bearers",
	"map[events.Face]levelling.Height": "frozen",
}

// addresses collects what pointers and maps lead to.
func addresses(v reflect.Value, seen map[uintptr]string) {
	switch v.Kind() {
	case reflect.Pointer, reflect.Map:
		if _, may := shared[v.Type().String()]; may || v.IsNil() || seen[v.Pointer()] != "" {
			return
		}
		seen[v.Pointer()] = v.Type().String()
		if v.Kind() == reflect.Pointer {
			addresses(v.Elem(), seen)
			return
		}
		for it := v.MapRange(); it.Next(); {
			addresses(it.Value(), seen)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			addresses(v.Field(i), seen)
		}
	case reflect.Slice:
		for i := range v.Len() {
			addresses(v.Index(i), seen)
		}
	}
}

// A clone shares no pointer and no map with its state, whatever fields a state
// may get.
func TestCloneSharesNothing(t *testing.T) {
	s, u := finished(t)
	s.readOn(events.FloorFace, "carpet", u, "B1-1", 870)
	s.readOn(events.FloorFace, "boards", u, "B1-1", 880)
	s.read(u, "B1-2", 1500)
	s.read(u, "D1", 1500)
	s.differ("D1", "B1-4", -500)
	s.jack("B1-4", 3)
	s.record(events.KindBlocking, events.Blocking{Place: "K1", Supports: []string{"B1-4"}, What: "crossed timbers", Base: "sleepers"})
	s.record(events.KindTie, events.Tie{Tie: "T1", What: "strap", Where: "hall", Supports: []string{"B1-4"}})
	s.record(events.KindFloorCut, events.FloorCut{Cut: "C1", Where: "hall"})
	s.record(events.KindStop, events.Stop{Why: "crack", Ask: "engineer"})
	s.record(events.KindHandover, events.Handover{Date: "2026-05-14", Present: "owner"})
	one, other := map[uintptr]string{}, map[uintptr]string{}
	state := jobs.Refold(s.job, s.log)
	addresses(reflect.ValueOf(state), one)
	addresses(reflect.ValueOf(jobs.Clone(state)), other)
	if len(one) < 60 {
		t.Errorf("only %d addresses: the state is too small to tell", len(one))
	}
	for at, kind := range one {
		if other[at] != "" {
			t.Errorf("a clone shares a %s", kind)
		}
	}
}
