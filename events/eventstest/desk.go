package eventstest

import (
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
)

// apart keeps one thing in quarantine.
func (l *logTest) apart(job events.ID, raw string, at time.Time) events.Quarantined {
	l.Helper()
	q := events.Quarantined{Firm: l.firm, Job: job, At: at.UTC(), Reason: "no such job", Raw: []byte(raw)}
	if err := l.log.Quarantine(l.Context(), q); err != nil {
		l.Fatal(err)
	}
	return q
}

func (l *logTest) decide(d events.Decision, want error) {
	l.Helper()
	if err := l.log.Decide(l.Context(), d); !errors.Is(err, want) {
		l.Errorf("Decide %+v = %v, want %v", d, err, want)
	}
}

// wantApart compares what waits, or is settled, by its bytes.
func (l *logTest) wantApart(settled bool, limit int, want ...string) []events.Case {
	l.Helper()
	list, err := l.log.Apart(l.Context(), l.firm, settled, limit)
	if err != nil {
		l.Fatal(err)
	}
	var got []string
	for _, c := range list {
		got = append(got, fmt.Sprintf("%s %s", c.Raw, c.Last.What))
	}
	if diff := cmp.Diff(want, got); diff != "" {
		l.Errorf("apart, settled %t (-want +got):\n%s", settled, diff)
	}
	return list
}

func logDecide(t *testing.T, l *logTest) {
	first, second := l.apart(l.job, "1", RecordedAt), l.apart(l.job, "2", RecordedAt.Add(time.Second))
	l.apart(NewFirm(t), "3", RecordedAt.Add(2*time.Second))
	l.wantApart(false, 10, "3 ", "2 ", "1 ")
	l.wantApart(true, 10)
	at := RecordedAt.UTC().Add(time.Hour)
	aside := events.Decision{Firm: l.firm, Key: first.Key(), N: 1, What: events.PutAside, Why: "sent twice", By: NewFirm(t), At: at}
	l.decide(aside, nil)
	l.decide(aside, nil) // again, as after an answer that was lost
	l.wantApart(false, 1, "3 ")
	l.wantApart(false, 10, "3 ", "2 ")
	if list := l.wantApart(true, 10, "1 set-aside"); len(list) == 1 {
		if diff := cmp.Diff(aside, list[0].Last); diff != "" {
			t.Errorf("the last decision (-want +got):\n%s", diff)
		}
	}
	reopened := events.Decision{Firm: l.firm, Key: first.Key(), N: 2, What: events.Reopened, Why: "it was not", At: at.Add(time.Minute)}
	l.decide(reopened, nil)
	l.wantApart(false, 10, "3 ", "2 ", "1 reopened")
	l.wantApart(true, 10)
	taken := events.Decision{Firm: l.firm, Key: second.Key(), N: 1, What: events.Accepted, By: NewFirm(t), Job: l.job, Event: NewFirm(t), At: at}
	l.decide(taken, nil)
	got, all, err := l.log.FindApart(t.Context(), l.firm, first.Key())
	if diff := cmp.Diff(first, got); diff != "" || err != nil {
		t.Errorf("FindApart: %v (-want +got):\n%s", err, diff)
	}
	if diff := cmp.Diff([]events.Decision{aside, reopened}, all); diff != "" {
		t.Errorf("decisions (-want +got):\n%s", diff)
	}
	open, err := l.log.Undecided(t.Context(), l.firm)
	if err != nil || len(open) != 2 || open[l.job] != 1 {
		t.Errorf("Undecided = %v, %v, want one of the job and one of another", open, err)
	}
}

func logDecideWrongly(t *testing.T, l *logTest) {
	q := l.apart(l.job, "1", RecordedAt)
	d := events.Decision{Firm: l.firm, Key: q.Key(), N: 1, What: events.PutAside, Why: "sent twice", At: RecordedAt.UTC()}
	gap, none, other := d, d, d
	gap.N, none.Key, other.Firm = 2, events.Digest{1}, NewFirm(t)
	l.decide(gap, events.ErrConflict)
	l.decide(none, events.ErrNotFound)
	l.decide(other, events.ErrNotFound)
	l.decide(d, nil)
	else1 := d
	else1.Why = "for another reason"
	l.decide(else1, events.ErrConflict)
	if _, _, err := l.log.FindApart(t.Context(), other.Firm, q.Key()); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("another firm finds it: %v", err)
	}
	if list, err := l.log.Apart(t.Context(), other.Firm, true, 10); err != nil || len(list) != 0 {
		t.Errorf("another firm sees %+v, %v", list, err)
	}
	if open, err := l.log.Undecided(t.Context(), other.Firm); err != nil || len(open) != 0 {
		t.Errorf("another firm counts %v, %v", open, err)
	}
}

// Of two desks that decide at once, one is told that it came too late.
func logDecideAtOnce(t *testing.T, l *logTest) {
	q := l.apart(l.job, "1", RecordedAt)
	const desks = 8
	answers := make([]error, desks)
	var all sync.WaitGroup
	for i := range desks {
		all.Go(func() {
			answers[i] = l.log.Decide(t.Context(), events.Decision{Firm: l.firm, Key: q.Key(), N: 1, What: events.PutAside, Why: fmt.Sprint("desk ", i), At: RecordedAt.UTC()})
		})
	}
	all.Wait()
	won := 0
	for _, err := range answers {
		switch {
		case err == nil:
			won++
		case !errors.Is(err, events.ErrConflict):
			t.Error(err)
		}
	}
	if won != 1 {
		t.Errorf("%d desks decided, want 1", won)
	}
}
