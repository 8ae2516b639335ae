package pglog_test

import (
	"testing"

	"relevel/events/eventstest"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
)

func TestRestores(t *testing.T) {
	t.Parallel()
	eventstest.Restores(t, func(t *testing.T) eventstest.RestoringLog { return pglog.New(pgtest.New(t).App) })
}
