package pglog_test

import (
	"testing"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
)

func TestLog(t *testing.T) {
	db := pgtest.New(t).App
	eventstest.Log(t, func(*testing.T) events.Log { return pglog.New(db) })
}

func TestLogModel(t *testing.T) {
	db := pgtest.New(t)
	eraser := pglog.NewEraser(db.Open(pgdb.Eraser))
	eventstest.LogModel(t, pglog.New(db.App), func(firm, job events.ID, seq int64) error {
		_, err := eraser.EraseRecords(t.Context(), firm, job, []int64{seq})
		return err
	})
}
