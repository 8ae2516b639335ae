package jobstest_test

import (
	"errors"
	"testing"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/jobstest"
)

func TestMemory(t *testing.T) {
	jobstest.Store(t, func(*testing.T) jobs.Store { return jobstest.NewMemory() })
}

func TestMemoryFails(t *testing.T) {
	broken := errors.New("broken")
	for at, kept := range map[string]bool{"CreateFirm": false, "after CreateFirm": true} {
		m := jobstest.NewMemory()
		m.Fail = func(call string) error {
			if call == at {
				return broken
			}
			return nil
		}
		f := jobs.Firm{ID: events.ID{1}, Name: "Level Best", Words: jobs.Australia}
		if err := m.CreateFirm(t.Context(), f); !errors.Is(err, broken) {
			t.Errorf("%s: CreateFirm = %v, want what the hook says", at, err)
		}
		_, err := m.FindFirm(t.Context(), f.ID)
		if got := err == nil; got != kept {
			t.Errorf("%s: kept %v, want %v", at, got, kept)
		}
	}
}
