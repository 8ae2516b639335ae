package eventstest_test

import (
	"testing"

	"relevel/events"
	"relevel/events/eventstest"
)

func TestMemObjects(t *testing.T) {
	eventstest.Objects(t, func(*testing.T) events.Objects { return new(eventstest.MemObjects) })
}

func TestMemLedger(t *testing.T) {
	eventstest.Ledger(t, func(t *testing.T) (events.Ledger, func() events.ID) {
		return new(eventstest.MemLedger), func() events.ID { return eventstest.NewFirm(t) }
	})
}

func TestMemPhotosModel(t *testing.T) { eventstest.PhotosModel(t, &eventstest.MemLedger{}) }
