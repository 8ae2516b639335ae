package jobs_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// A jack is judged by the record that stood when it was used.
func TestKitSpeaks(t *testing.T) {
	day := func(d int) time.Time { return time.Date(2026, 3, d, 12, 0, 0, 0, time.UTC) }
	gone := jobs.Jack{Name: "bottle 1", Upkeep: jobs.Upkeep{InspectedOn: "2026-01-01", Gone: true}, CreatedAt: day(20)}
	good := jobs.Jack{Name: "bottle 1", Upkeep: jobs.Upkeep{InspectedOn: "2026-01-01", DueOn: "2026-03-10"}, CreatedAt: day(1)}
	kit := jobs.KitRecords{Jacks: []jobs.Jack{gone, good, {Name: "screw", CreatedAt: day(1)}}}
	for _, test := range []struct {
		kind events.Kind
		body string
		day  int
		want string
	}{
		{events.KindJacking, "bottle 1", 5, ""},
		{events.KindJacking, "Bottle 1", 10, ""},
		{events.KindJacking, "bottle 1", 11, "the jack bottle 1: its inspection has been overdue since 10 March 2026"},
		{events.KindJacking, "bottle 1", 21, "the jack bottle 1: out of use"},
		{events.KindJacking, "screw", 5, "the jack screw: no inspection is recorded"},
		{events.KindJacking, "borrowed", 5, "the jack borrowed: not in the kit"},
		{events.KindJacking, "", 5, ""},
		{events.KindSetup, "laser", 5, ""}, // no laser is kept at all
	} {
		body, _ := json.Marshal(map[string]any{"moves": []any{map[string]any{"support": "B1-1", "by": 3, "gauge": "rule", "jack": test.body}, map[string]any{"support": "B1-2", "by": 3, "gauge": "rule", "jack": test.body}}})
		if test.kind == events.KindSetup {
			body, _ = json.Marshal(map[string]any{"instrument": test.body, "datums": []any{map[string]any{"datum": "D1", "staff": 1000}}})
		}
		e := events.Stored{Event: events.Event{Kind: test.kind, V: 1, At: day(test.day), Body: body}}
		if got := strings.Join(kit.Speaks(e, time.UTC), "; "); got != test.want {
			t.Errorf("%s %q on the %dth: %q, want %q", test.kind, test.body, test.day, got, test.want)
		}
	}
}
