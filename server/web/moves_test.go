package web

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/jobs"
)

// Without a daily lift nobody knows on which day a round comes.
func TestLaterRounds(t *testing.T) {
	later := []jobs.LaterOn{{Day: 0}, {Day: 1}, {Day: 4}}
	when := func(byDay bool) (words []string) {
		for _, r := range LaterRounds(later, byDay) {
			words = append(words, r.When)
		}
		return words
	}
	if diff := cmp.Diff([]string{"Today", "Tomorrow", "In 4 days"}, when(true)); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]string{"Round 2", "Round 3", "Round 4"}, when(false)); diff != "" {
		t.Error(diff)
	}
}

// A batch is recorded under the way that it moves.
func TestBatchVerb(t *testing.T) {
	up, down := Move{NextMove: jobs.NextMove{ByMM: 3}}, Move{NextMove: jobs.NextMove{ByMM: -3}}
	for _, c := range []struct {
		moves []Move
		want  string
	}{{[]Move{up}, "Jack up"}, {[]Move{down}, "Let down"}, {[]Move{down, up}, "Jack up"}} {
		if got := (Batch{Moves: c.moves}).Verb(); got != c.want {
			t.Errorf("%+v: %q, want %q", c.moves, got, c.want)
		}
	}
}
