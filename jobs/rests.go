package jobs

import (
	"fmt"
	"maps"
	"slices"

	"relevel/events"
)

// rests names what rests on an event: the records of one kind that refer to it.
type rests struct {
	on   events.ID
	kind events.Kind
}

// refer counts what an event that counts rests on.
func (s *State) refer(e placed, body events.Body) {
	if _, aside := s.aside[e.ID]; aside || e.Kind == events.KindVoid {
		return
	}
	for _, id := range events.Refers(body) {
		s.resting[rests{id, e.Kind}]++
	}
}

// Resting says in words what rests on an event and would be without it: "3
// readings", "1 go-ahead". Nothing rests on most.
func (s *State) Resting(on events.ID) []string {
	var words []string
	for _, kind := range slices.Sorted(maps.Keys(restWords)) {
		if n := s.resting[rests{on, kind}]; n > 0 {
			words = append(words, countWords(n, restWords[kind]))
		}
	}
	return words
}

// restWords name one record of each kind that can rest on another, and several.
var restWords = map[events.Kind][2]string{
	events.KindReading:        {"reading", "readings"},
	events.KindSetupClosed:    {"closing of the set-up", "closings of the set-up"},
	events.KindSigned:         {"signature", "signatures"},
	events.KindFinding:        {"follow-up", "follow-ups"},
	events.KindFindingClosed:  {"closing of the finding", "closings of the finding"},
	events.KindGoAhead:        {"go-ahead", "go-aheads"},
	events.KindChange:         {"change that follows it", "changes that follow it"},
	events.KindChangeAnswered: {"answer", "answers"},
	events.KindNote:           {"note that answers it", "notes that answer it"},
	events.KindHandover:       {"hand-over", "hand-overs"},
}

func countWords(n int, words [2]string) string {
	if n == 1 {
		return "1 " + words[0]
	}
	return fmt.Sprintf("%d %s", n, words[1])
}
