package pgjobs_test

import (
	"testing"

	"relevel/events/pgdb/pgtest"
	"relevel/jobs"
	"relevel/jobs/jobstest"
	"relevel/jobs/pgjobs"
)

// The suite holds where every transaction is run twice.
func TestLosing(t *testing.T) {
	l := pgtest.NewLosing(t, pgtest.New(t))
	jobstest.Store(t, func(*testing.T) jobs.Store { return pgjobs.New(l.App) })
	if l.Lost() < 100 {
		t.Errorf("%d transactions lost: nothing was tested", l.Lost())
	}
}
