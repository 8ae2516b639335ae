package jobs_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"relevel/events"
	"relevel/jobs"
)

// Whatever the order of arrival, a replay's state is that of the set so far.
func TestReplayIsRefold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		log := randomJob(t)
		if rapid.Bool().Draw(t, "mostly in order") {
			slices.SortStableFunc(log, func(a, b events.Stored) int { return a.At.Compare(b.At) })
		}
		for range rapid.IntRange(0, 4).Draw(t, "late ones") {
			i, j := rapid.IntRange(0, len(log)-1).Draw(t, "i"), rapid.IntRange(0, len(log)-1).Draw(t, "j")
			log[i], log[j] = log[j], log[i]
		}
		r := jobs.NewReplayEvery(log[0].Job, rapid.IntRange(1, 7).Draw(t, "snapshot every"))
		for i, e := range log {
			r.Add(e)
			if diff := cmp.Diff(jobs.Refold(e.Job, log[:i+1]).Picture(begin), r.State().Picture(begin)); diff != "" {
				t.Fatalf("after event %d (%s) (-refolded +replayed):\n%s", i, e.Kind, diff)
			}
		}
	})
}

// A void speaks of a check, which counts for the set-ups before it, and an earlier
// void speaks of that void.
func TestReplayVoidSpokenOf(t *testing.T) {
	s := newSite(t)
	s.record(events.KindPlan, bearerPlan())
	s.laser(1000)
	second := events.Void{Event: id(0xe, len(s.log)+3), Why: "the wrong line"}
	s.record(events.KindVoid, second)
	checked := twoPeg(0.06)
	checked.GoodUntil = "2026-03-01"
	check := s.record(events.KindInstrumentCheck, checked)
	s.record(events.KindVoid, events.Void{Event: check, Why: "another laser"})
	r := jobs.NewReplayEvery(s.job, 1)
	for i, e := range s.log {
		r.Add(e)
		if diff := cmp.Diff(jobs.Refold(s.job, s.log[:i+1]).Picture(s.clock), r.State().Picture(s.clock)); diff != "" {
			t.Errorf("after event %d (%s) (-refolded +replayed):\n%s", i, e.Kind, diff)
		}
	}
}

// Two replays that part at some event know nothing of each other's later ones.
func TestReplayClone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		log := randomJob(t)
		cut := rapid.IntRange(0, len(log)).Draw(t, "cloned after")
		r := jobs.NewReplayEvery(log[0].Job, rapid.IntRange(1, 7).Draw(t, "snapshot every"))
		for _, e := range log[:cut] {
			r.Add(e)
		}
		other := r.Clone()
		parts := [2][]events.Stored{slices.Clone(log[:cut]), slices.Clone(log[:cut])}
		for _, e := range log[cut:] {
			i := rapid.IntRange(0, 1).Draw(t, "to the clone")
			parts[i] = append(parts[i], e)
			[]*jobs.Replay{r, other}[i].Add(e)
		}
		for i, each := range []*jobs.Replay{r, other} {
			if diff := cmp.Diff(jobs.Refold(log[0].Job, parts[i]).Picture(begin), each.State().Picture(begin)); diff != "" {
				t.Fatalf("%d (-refolded +replayed):\n%s", i, diff)
			}
		}
	})
}

// A clone shares nothing that folding on changes.
func TestCloneStaysAsItWas(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		log := randomJob(t)
		cut := rapid.IntRange(0, len(log)).Draw(t, "cloned after")
		s := jobs.Refold(log[0].Job, log[:cut])
		before := s.Picture(begin)
		clone := jobs.Clone(s)
		for _, e := range log[cut:] {
			jobs.Fold(clone, e)
		}
		if diff := cmp.Diff(before, s.Picture(begin)); diff != "" {
			t.Fatalf("folding a clone on changed the state (-before +after):\n%s", diff)
		}
	})
}

func BenchmarkReplayLate(b *testing.B) {
	log := longJob(b)
	late := slices.Clone(log)
	rand.New(rand.NewPCG(1, 1)).Shuffle(20, func(i, j int) { late[len(late)-1-i], late[len(late)-1-j] = late[len(late)-1-j], late[len(late)-1-i] })
	for b.Loop() {
		r := jobs.NewReplay(log[0].Job)
		for _, e := range late {
			r.Add(e)
		}
	}
}
