package drawing

import (
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

// Only what a record is about stands out, and a record about no support draws
// nothing.
func TestWhere(t *testing.T) {
	p := jobs.Picture{Supports: []jobs.Support{{ID: "A"}, {ID: "B", X: 4}, {ID: "C", X: 4, Y: 3}}}
	p.Plan.Bearers = []events.Bearer{{ID: "1", Supports: []string{"B", "C", "unknown"}}, {ID: "2", Supports: []string{"A"}}}
	p.Plan.Supports = []events.Support{{ID: "A"}, {ID: "B", X: 4}, {ID: "C", X: 4, Y: 3}}
	sketch := Where(p)
	if got := sketch([]string{"B", "C"}); strings.Count(got, `class="solid"`) != 2 || strings.Count(got, `class="dot"`) != 1 || strings.Count(got, `class="along"`) != 1 {
		t.Errorf("drawn: %s", got)
	}
	if got := sketch(nil); got != "" {
		t.Errorf("about no support: %s", got)
	}
}
