package pglog_test

import (
	"testing"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
)

func TestLog(t *testing.T) {
	db := pgtest.New(t).App
	eventstest.Log(t, func(*testing.T) events.Log { return pglog.New(db) })
}
