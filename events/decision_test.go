package events_test

import (
	"errors"
	"strings"
	"testing"

	"relevel/events"
	"relevel/levelling"
)

func TestDecisionCheck(t *testing.T) {
	for name, test := range map[string]struct {
		decision events.Decision
		field    string
	}{
		"Accepted":      {events.Decision{What: events.Accepted, Job: events.ID{1}, Event: events.ID{2}}, ""},
		"AcceptedAs":    {events.Decision{What: events.Accepted, Job: events.ID{1}}, "event"},
		"CorrectedIn":   {events.Decision{What: events.Corrected, Event: events.ID{1}}, "event"},
		"Aside":         {events.Decision{What: events.PutAside, Why: "sent twice"}, ""},
		"AsideWhy":      {events.Decision{What: events.PutAside, Why: " "}, "why"},
		"ReopenedWhy":   {events.Decision{What: events.Reopened}, "why"},
		"LongWhy":       {events.Decision{What: events.Reopened, Why: strings.Repeat("é", 501)}, "why"},
		"SomethingElse": {events.Decision{What: "deleted", Why: "because"}, "what"},
	} {
		t.Run(name, func(t *testing.T) {
			err := test.decision.Check()
			var bad *levelling.InputError
			if errors.As(err, &bad) && bad.Field != test.field || (err == nil) != (test.field == "") {
				t.Errorf("%v, want the field %q", err, test.field)
			}
		})
	}
}
