// Package taskstest holds the suite that every queue of tasks passes.
package taskstest

import (
	"crypto/rand"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/server/tasks"
)

var start = time.Date(2026, 3, 2, 10, 15, 0, 0, time.UTC)

// Queue checks that a queue keeps the contract of tasks.Queue. What open returns may
// hold other firms' tasks, but none of the kinds "a" and "b".
func Queue(t *testing.T, open func(t *testing.T) tasks.Queue) {
	for name, test := range map[string]func(*testing.T, tasks.Queue){
		"OnceEach": onceEach, "Claimed": claimed, "AddedAgain": addedAgain, "Retried": retried, "Buried": buried,
		"LeaseLost": leaseLost, "ClaimerGone": claimerGone, "ClockAhead": clockAhead, "FirmsApart": firmsApart, "OneClaimer": oneClaimer,
	} {
		t.Run(name, func(t *testing.T) { test(t, open(t)) })
	}
}

func newFirm(t *testing.T) events.ID {
	t.Helper()
	id, err := events.NewID(start, rand.Reader)
	must(t, err)
	return id
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func add(t *testing.T, q tasks.Queue, firm events.ID, refs ...string) {
	t.Helper()
	for i, ref := range refs {
		must(t, q.Add(t.Context(), firm, tasks.Task{Kind: "a", Ref: ref, Due: start.Add(time.Duration(i) * time.Second)}))
	}
}

// claim takes what is due so long after the start.
func claim(t *testing.T, q tasks.Queue, after time.Duration, limit int, except ...events.ID) []tasks.Task {
	t.Helper()
	now := start.Add(after)
	got, err := q.Claim(t.Context(), tasks.Claim{Now: now, Until: now.Add(time.Minute), Kinds: []string{"a"}, Limit: limit, Except: except})
	must(t, err)
	return got
}

func refs(list []tasks.Task) (all []string) {
	for _, t := range list {
		all = append(all, t.Ref)
	}
	return all
}

func onceEach(t *testing.T, q tasks.Queue) {
	firm := newFirm(t)
	add(t, q, firm, "1", "1")
	if got := claim(t, q, time.Hour, 9); len(got) != 1 || got[0].Firm != firm || !got[0].Due.Equal(start) || got[0].Attempts != 1 {
		t.Errorf("%+v, want it once, due at the earlier time", got)
	}
}

// What is longest due comes first, nothing before its time, of the kinds and firms
// that were asked for.
func claimed(t *testing.T, q tasks.Queue) {
	firm, other := newFirm(t), newFirm(t)
	add(t, q, firm, "1", "2", "3")
	add(t, q, other, "4")
	must(t, q.Add(t.Context(), firm, tasks.Task{Kind: "b", Ref: "5", Due: start}))
	if got := refs(claim(t, q, time.Second, 9, other)); len(got) != 2 {
		t.Errorf("%q, want the two that are due", got)
	}
	if got := refs(claim(t, q, time.Second, 9)); len(got) != 1 || got[0] != "4" {
		t.Errorf("%q, want the other firm's", got)
	}
	if got := refs(claim(t, q, time.Hour, 0)); len(got) != 0 {
		t.Errorf("%q for somebody without room", got)
	}
	must(t, q.Drop(t.Context(), firm, "b", ""))
}

// What is added while it is being done is done once more.
func addedAgain(t *testing.T, q tasks.Queue) {
	firm := newFirm(t)
	add(t, q, firm, "1")
	one := claim(t, q, 0, 1)[0]
	must(t, q.Add(t.Context(), firm, tasks.Task{Kind: "a", Ref: "1", Due: start}))
	must(t, q.Finish(t.Context(), one))
	again := claim(t, q, time.Second, 9)
	if len(again) != 1 || again[0].Attempts != 1 {
		t.Fatalf("%+v, want it once more, as new", again)
	}
	must(t, q.Finish(t.Context(), again[0]))
	if got := claim(t, q, time.Hour, 9); len(got) > 0 {
		t.Errorf("%+v after it was finished", got)
	}
}

// A failure waits its time, whoever adds the task meanwhile; one that was broken off
// does not count.
func retried(t *testing.T, q tasks.Queue) {
	firm := newFirm(t)
	add(t, q, firm, "1")
	one := claim(t, q, 0, 1)[0]
	must(t, q.Retry(t.Context(), one, tasks.Retry{Due: start.Add(time.Hour), Reason: "no answer\x00"}))
	add(t, q, firm, "1")
	if got := claim(t, q, 59*time.Minute, 9); len(got) > 0 {
		t.Errorf("%+v before its time", got)
	}
	two := claim(t, q, time.Hour, 9)
	if len(two) != 1 || two[0].Attempts != 2 || two[0].Failed == "" {
		t.Fatalf("%+v, want the second attempt", two)
	}
	must(t, q.Retry(t.Context(), two[0], tasks.Retry{Due: start.Add(time.Hour), Free: true}))
	if got := claim(t, q, time.Hour, 9); len(got) != 1 || got[0].Attempts != 2 {
		t.Errorf("%+v, want the second attempt once more", got)
	}
}

func buried(t *testing.T, q tasks.Queue) {
	firm := newFirm(t)
	add(t, q, firm, "1/x", "2/x")
	for _, one := range claim(t, q, time.Minute, 9) {
		must(t, q.Bury(t.Context(), one, "given up"))
	}
	add(t, q, firm, "1/x")
	if got := claim(t, q, 100*time.Hour, 9); len(got) > 0 {
		t.Errorf("%+v is dead and was claimed", got)
	}
	dead, err := q.Dead(t.Context(), firm)
	must(t, err)
	if diff := cmp.Diff([]string{"1/x", "2/x"}, refs(dead)); diff != "" || dead[0].Failed != "given up" {
		t.Errorf("%s: %+v", diff, dead)
	}
	must(t, q.Drop(t.Context(), firm, "a", "1/"))
	add(t, q, firm, "1/x")
	if got := refs(claim(t, q, time.Hour, 9)); len(got) != 1 || got[0] != "1/x" {
		t.Errorf("%q, want the one that was dropped and added", got)
	}
}

// Whoever lost a lease changes nothing any more.
func leaseLost(t *testing.T, q tasks.Queue) {
	firm := newFirm(t)
	add(t, q, firm, "1")
	one := claim(t, q, 0, 1)[0]
	longer, err := q.Extend(t.Context(), one, start.Add(2*time.Minute))
	must(t, err)
	if got := claim(t, q, 90*time.Second, 9); len(got) > 0 {
		t.Errorf("%+v under a lease that was renewed", got)
	}
	two := claim(t, q, 3*time.Minute, 9)
	if len(two) != 1 || two[0].Attempts != 2 {
		t.Fatalf("%+v, want it claimed by another", two)
	}
	_, extended := q.Extend(t.Context(), longer, start.Add(time.Hour))
	for name, err := range map[string]error{
		"Extend": extended, "Finish": q.Finish(t.Context(), longer), "Bury": q.Bury(t.Context(), longer, "x"),
		"Retry": q.Retry(t.Context(), longer, tasks.Retry{Due: start}),
	} {
		if !errors.Is(err, events.ErrNotFound) {
			t.Errorf("%s = %v, want ErrNotFound", name, err)
		}
	}
	must(t, q.Finish(t.Context(), two[0]))
}

// A task whose claimer is gone is there again when the lease has run out, whatever time
// it was added for meanwhile: the clock of who added it may have been ahead.
func claimerGone(t *testing.T, q tasks.Queue) {
	firm := newFirm(t)
	add(t, q, firm, "x")
	if got := claim(t, q, 0, 1); len(got) != 1 { // for a minute
		t.Fatalf("claimed %d, want the task", len(got))
	}
	must(t, q.Add(t.Context(), firm, tasks.Task{Kind: "a", Ref: "x", Due: start.Add(time.Hour)}))
	if got := claim(t, q, 59*time.Second, 1); len(got) != 0 {
		t.Errorf("claimed %v under somebody's lease", refs(got))
	}
	if got := claim(t, q, 2*time.Minute, 1); len(got) != 1 {
		t.Errorf("claimed %d after the lease, want the task", len(got))
	}
}

// A task whose claimer had a clock ahead, and is gone, does not wait for that time.
func clockAhead(t *testing.T, q tasks.Queue) {
	firm := newFirm(t)
	add(t, q, firm, "x")
	ahead := claim(t, q, time.Hour, 1)
	if len(ahead) != 1 {
		t.Fatalf("claimed %d, want the task", len(ahead))
	}
	if got := claim(t, q, time.Hour-time.Minute, 1); len(got) != 0 {
		t.Errorf("claimed %v from a clock that is a lease ahead", refs(got))
	}
	got := claim(t, q, 0, 1)
	if len(got) != 1 {
		t.Fatalf("claimed %d from a clock that was an hour ahead, want the task", len(got))
	}
	if err := q.Finish(t.Context(), ahead[0]); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("whose lease it was finishes it: %v", err)
	}
	must(t, q.Finish(t.Context(), got[0]))
}

func firmsApart(t *testing.T, q tasks.Queue) {
	one, other := newFirm(t), newFirm(t)
	add(t, q, one, "1")
	add(t, q, other, "1")
	for _, each := range claim(t, q, time.Minute, 9) {
		must(t, q.Bury(t.Context(), each, "x"))
	}
	must(t, q.Drop(t.Context(), other, "a", ""))
	mine, err := q.Dead(t.Context(), one)
	must(t, err)
	theirs, err := q.Dead(t.Context(), other)
	must(t, err)
	if len(mine) != 1 || len(theirs) != 0 {
		t.Errorf("%d and %d are left, want 1 and 0", len(mine), len(theirs))
	}
	must(t, q.Drop(t.Context(), one, "a", ""))
}

// Many who claim at once take each task once.
func oneClaimer(t *testing.T, q tasks.Queue) {
	firm := newFirm(t)
	for i := range 40 {
		add(t, q, firm, fmt.Sprint(i))
	}
	var mu sync.Mutex
	taken := map[string]int{}
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			for range 5 {
				now := start.Add(time.Minute)
				got, err := q.Claim(t.Context(), tasks.Claim{Now: now, Until: now.Add(time.Minute), Kinds: []string{"a"}, Limit: 3})
				if err != nil {
					t.Error(err)
				}
				mu.Lock()
				for _, one := range got {
					taken[one.Ref]++
				}
				mu.Unlock()
			}
		})
	}
	all.Wait()
	if len(taken) != 40 {
		t.Errorf("%d were claimed, want 40", len(taken))
	}
	for ref, n := range taken {
		if n != 1 {
			t.Errorf("%s was claimed %d times", ref, n)
		}
	}
}
