package pglog_test

import (
	"errors"
	"testing"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
)

func TestLedger(t *testing.T) {
	db := pgtest.New(t)
	eventstest.Ledger(t, func(t *testing.T) (events.Ledger, func() events.ID) {
		return pglog.NewLedger(db.App), func() events.ID { return eventstest.NewFirm(t) }
	})
}

func TestLedgerAway(t *testing.T) {
	db := pgtest.Own(t)
	ledger := pglog.NewLedger(db.App)
	if err := db.Server.Stop(); err != nil {
		t.Fatal(err)
	}
	k := events.Kept{Firm: eventstest.NewFirm(t), SHA256: events.Digest{1}, Type: events.Photo, Bytes: 1, State: events.FileReceived}
	if err := ledger.Record(t.Context(), k); !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("Record = %v, want ErrUnavailable", err)
	}
	if _, err := ledger.Find(t.Context(), k.Firm, k.SHA256); !errors.Is(err, events.ErrUnavailable) || errors.Is(err, events.ErrNotFound) {
		t.Errorf("Find = %v, want ErrUnavailable", err)
	}
}

func TestPhotosModel(t *testing.T) { eventstest.PhotosModel(t, pglog.NewLedger(pgtest.New(t).App)) }
