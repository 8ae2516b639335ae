package seam

import (
	"strings"
	"testing"

	"relevel/events"
)

// A reckoning that breaks takes no worker with it, and leaves no half-made book.
func TestBroken(t *testing.T) {
	calls["break"] = onBook(func(*book, asked) (any, error) { panic("broken") })
	defer delete(calls, "break")
	s := New()
	job := events.ID{1}.String()
	if got := string(s.Call("break", []byte(`{"job":"`+job+`"}`))); !strings.Contains(got, "take the events again") {
		t.Error(got)
	}
	if len(s.books) != 0 {
		t.Errorf("%d books left", len(s.books))
	}
}
