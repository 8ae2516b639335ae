package frozentest

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestFaults(t *testing.T) {
	lists := []List{
		{Release: "0.1.0", Values: map[string]string{"a": "1", "b": "2"}},
		{Release: "0.2.0", Values: map[string]string{"c": "3"}},
	}
	for _, tt := range []struct {
		name   string
		now    map[string]string
		faults int
	}{
		{"AsReleased", map[string]string{"a": "1", "b": "2", "c": "3"}, 0},
		{"WithNew", map[string]string{"a": "1", "b": "2", "c": "3", "d": "4"}, 0},
		{"Changed", map[string]string{"a": "1", "b": "3", "c": "3"}, 1},
		{"Gone", map[string]string{"a": "1", "b": "2"}, 1},
		{"GoneAndChanged", map[string]string{"a": "2", "c": "3"}, 2},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := faults(lists, tt.now); len(got) != tt.faults {
				t.Errorf("got %q, want %d faults", got, tt.faults)
			}
		})
	}
}

// A list holds what is new since those before it, and is made anew as a whole
// until its release is out.
func TestFresh(t *testing.T) {
	lists := []List{
		{Release: "0.1.0", Values: map[string]string{"a": "1"}},
		{Release: "0.2.0", Values: map[string]string{"b": "2"}},
	}
	got := fresh(lists, "0.2.0", map[string]string{"a": "9", "b": "8", "c": "7"})
	want := List{Release: "0.2.0", Values: map[string]string{"b": "8", "c": "7"}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}
