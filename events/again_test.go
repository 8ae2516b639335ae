package events_test

import (
	"encoding/json"
	"errors"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/levelling"
)

func apartOf(t *testing.T, change func(map[string]any)) events.Quarantined {
	t.Helper()
	e := envelope()
	change(e)
	raw, err := json.Marshal(e)
	if err != nil {
		t.Fatal(err)
	}
	return events.Quarantined{Firm: events.ID{1}, Job: events.ID{2}, At: time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC), Reason: "no such job", Raw: raw}
}

func TestAgain(t *testing.T) {
	q := apartOf(t, func(map[string]any) {})
	was, job := q.Read(), events.ID{3}
	again := q.Again(job, 1)
	if again.Job != job || again.Kind != was.Kind || string(again.Body) != string(was.Body) || again.By != was.By || again.From != q.Key() {
		t.Errorf("%+v, want what %+v says in another job, and where it comes from", again, was)
	}
	if again.SeenSeq != 0 || q.Again(was.Job, 1).SeenSeq != was.SeenSeq {
		t.Error("what was seen of a job is seen of that job alone")
	}
	if again.ID == was.ID || again.Device == was.Device {
		t.Error("it has the id or the device of what it comes from")
	}
	raw, err := json.Marshal(again)
	if err != nil {
		t.Fatal(err)
	}
	in, err := events.Receive(raw)
	if err != nil {
		t.Fatalf("it has no place in a log: %v", err)
	}
	if diff := cmp.Diff(again.From, in.Event.From); diff != "" {
		t.Error(diff)
	}
}

// Two desks make the same bytes; another decision makes another event.
func TestAgainIsTheSame(t *testing.T) {
	q := apartOf(t, func(map[string]any) {})
	one, _ := json.Marshal(q.Again(events.ID{3}, 1))
	two, _ := json.Marshal(q.Again(events.ID{3}, 1))
	if string(one) != string(two) {
		t.Errorf("%s and %s", one, two)
	}
	if q.Again(events.ID{3}, 1).ID == q.Again(events.ID{3}, 3).ID {
		t.Error("a later decision makes the same event")
	}
}

func TestAgainWhen(t *testing.T) {
	arrived := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	for name, test := range map[string]struct {
		at     any
		offset any
		want   time.Time
	}{
		"OfTheDevice": {"2026-03-01T10:15:00.25Z", 0, time.Date(2026, 3, 1, 10, 15, 0, 250e6, time.UTC)},
		"ItsClockOff": {"2026-03-01T10:15:00Z", -60000, time.Date(2026, 3, 1, 10, 14, 0, 0, time.UTC)},
		"WildOffset":  {"2026-03-01T10:15:00Z", int64(1) << 62, time.Date(2026, 3, 1, 10, 15, 0, 0, time.UTC)},
		"Unreadable":  {"yesterday", 0, arrived},
		"Unset":       {"0001-01-01T00:00:00Z", 0, arrived},
	} {
		t.Run(name, func(t *testing.T) {
			q := apartOf(t, func(e map[string]any) { e["at"], e["offset_ms"] = test.at, test.offset })
			if got := q.Again(events.ID{3}, 1).At; !got.Equal(test.want) {
				t.Errorf("at %s, want %s", got, test.want)
			}
		})
	}
}

func TestAcceptable(t *testing.T) {
	for name, test := range map[string]struct {
		change func(map[string]any)
		field  string
	}{
		"OK":          {func(map[string]any) {}, ""},
		"NoID":        {func(e map[string]any) { delete(e, "id") }, ""},
		"NoDevice":    {func(e map[string]any) { e["device"] = "mine" }, ""},
		"Newer":       {func(e map[string]any) { e["kind"] = "moon-phase" }, ""},
		"NoKind":      {func(e map[string]any) { delete(e, "kind") }, "kind"},
		"NoBody":      {func(e map[string]any) { e["body"] = "words" }, "body"},
		"BadBody":     {func(e map[string]any) { e["kind"], e["body"] = "stop", map[string]any{"ask": "the office"} }, "why"},
		"PhotoUntold": {func(e map[string]any) { e["files"] = []any{map[string]any{"type": "photo"}} }, "files"},
	} {
		t.Run(name, func(t *testing.T) {
			err := apartOf(t, test.change).Acceptable()
			var bad *levelling.InputError
			if errors.As(err, &bad) && bad.Field != test.field || (err == nil) != (test.field == "") {
				t.Errorf("%v, want the field %q", err, test.field)
			}
		})
	}
}
