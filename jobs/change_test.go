package jobs_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

func amount(v float64) *float64 { return &v }

func TestChangeStates(t *testing.T) {
	s, _ := agreed(t)
	change := func(follows events.ID) events.ID {
		return s.record(events.KindChange, events.Change{Text: "one more stump", Amount: amount(480.5), Currency: "AUD", Follows: follows})
	}
	answer := func(of events.ID, a events.ChangeAnswered) {
		a.Change, a.Name = of, "the owner"
		s.record(events.KindChangeAnswered, a)
	}
	yes, no, back, followed := change(events.ID{}), change(events.ID{}), change(events.ID{}), change(events.ID{})
	open := change(followed)
	answer(yes, events.ChangeAnswered{Accepted: true, How: "by phone"})
	answer(yes, events.ChangeAnswered{})
	answer(no, events.ChangeAnswered{Why: "too dear"})
	answer(back, events.ChangeAnswered{Withdrawn: true, Why: "not needed"})
	answer(followed, events.ChangeAnswered{Accepted: true})
	later := change(yes)

	p := s.picture()
	got := map[events.ID]jobs.ChangeState{}
	closed := map[events.ID]string{}
	for _, c := range p.Changes {
		got[c.ID], closed[c.ID] = c.State, c.Closed
	}
	want := map[events.ID]jobs.ChangeState{yes: jobs.ChangeAgreed, no: jobs.ChangeDeclined, back: jobs.ChangeWithdrawn,
		followed: jobs.ChangeWithdrawn, open: jobs.ChangeAsked, later: jobs.ChangeAsked}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("states (-want +got):\n%s", diff)
	}
	if closed[yes] != "accepted by the owner, by phone" || closed[no] != "declined by the owner; too dear" {
		t.Errorf("%q and %q", closed[yes], closed[no])
	}
	if p.Changes[0].FollowedBy != later || p.Changes[3].FollowedBy != open {
		t.Error("what follows a change is not said")
	}
	if !says(p, "the change was agreed before") || !says(p, "the change was withdrawn before") || len(p.SetAside) != 0 {
		t.Errorf("flags %+v, set aside %+v", p.Flags, p.SetAside)
	}
}

// A wrong answer is struck, and the change waits again.
func TestAnswerVoided(t *testing.T) {
	s, _ := agreed(t)
	c := s.record(events.KindChange, events.Change{Text: "one more stump"})
	a := s.record(events.KindChangeAnswered, events.ChangeAnswered{Change: c, Accepted: true, Name: "the owner"})
	s.record(events.KindVoid, events.Void{Event: a, Why: "it was about another"})
	if got := s.picture().Changes[0]; got.State != jobs.ChangeAsked || !got.Open || got.Answer != nil {
		t.Errorf("%+v", got)
	}
}

// Amounts are added as they are written, each currency by itself.
func TestAgreedSums(t *testing.T) {
	agreed := func(v float64, currency string) jobs.Change {
		return jobs.Change{State: jobs.ChangeAgreed, Amount: amount(v), Currency: currency}
	}
	got := jobs.Agreed([]jobs.Change{
		agreed(0.1, "AUD"), agreed(0.2, "AUD"), agreed(480.5, "NZD"), agreed(-80.25, "AUD"), agreed(7, "aud"),
		{State: jobs.ChangeAsked, Amount: amount(999), Currency: "AUD"}, {State: jobs.ChangeAgreed},
	})
	want := []jobs.Sum{{"AUD", -7995, 3}, {"NZD", 48050, 1}, {"aud", 700, 1}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("sums (-want +got):\n%s", diff)
	}
	if words := got[0].Words(); words != "-79.95 AUD" {
		t.Errorf("written %q", words)
	}
}
