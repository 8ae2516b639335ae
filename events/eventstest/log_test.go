package eventstest_test

import (
	"errors"
	"testing"

	"relevel/events"
	"relevel/events/eventstest"
)

func TestMemLog(t *testing.T) {
	eventstest.Log(t, func(*testing.T) events.Log { return eventstest.NewMemLog() })
}

func TestMemLogHooks(t *testing.T) {
	cut := errors.New("the line was cut")
	fail := func(method string) error {
		if method == "append" {
			return cut
		}
		return nil
	}
	tests := map[string]struct {
		before, after eventstest.Hook
		stored        int64
	}{
		"Before": {before: fail, stored: 0},
		"After":  {after: fail, stored: 1},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			m := eventstest.NewMemLog()
			m.Before, m.After = test.before, test.after
			firm, job := eventstest.NewFirm(t), eventstest.NewFirm(t)
			if err := m.Create(t.Context(), firm, job); err != nil {
				t.Fatal(err)
			}
			receipt, err := m.Append(t.Context(), eventstest.BatchOf(firm, job, eventstest.NewMaker(t).Note(job)))
			if !errors.Is(err, cut) || receipt.Results != nil {
				t.Errorf("Append = %+v, %v", receipt, err)
			}
			if head, err := m.Head(t.Context(), firm, job); err != nil || head.Seq != test.stored {
				t.Errorf("head at %d, %v; want %d", head.Seq, err, test.stored)
			}
		})
	}
}

func TestMemLogModel(t *testing.T) {
	log := eventstest.NewMemLog()
	eventstest.LogModel(t, log, func(firm, job events.ID, seq int64) error {
		log.Erase(firm, job, seq)
		return nil
	})
}
