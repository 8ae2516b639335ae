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

// What waits of a support that also moves is what its moves leave.
func TestRests(t *testing.T) {
	move := func(support string, by float64) jobs.NextMove { return jobs.NextMove{Support: support, ByMM: by} }
	plan := &jobs.Rounds{
		Moves: []jobs.NextMove{move("B2-2", 8), move("B2-1", 5)},
		Later: []jobs.LaterOn{{Moves: []jobs.NextMove{move("B2-2", 2)}}},
		Waits: []jobs.WaitingOn{{Support: "B2-2", LeftMM: 14, Why: "B3-2: slab"}, {Support: "B3-2", LeftMM: 7, Why: "slab"}},
	}
	want := []jobs.WaitingOn{{Support: "B2-2", LeftMM: 4, Why: "the rest of it: B3-2: slab"}, {Support: "B3-2", LeftMM: 7, Why: "slab"}}
	if diff := cmp.Diff(want, Rests(plan)); diff != "" {
		t.Error(diff)
	}
	if plan.Waits[0].LeftMM != 14 {
		t.Error("the plan itself was changed")
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
