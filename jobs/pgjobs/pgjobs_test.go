package pgjobs_test

import (
	"errors"
	"testing"

	"relevel/events"
	"relevel/events/pgdb/pgtest"
	"relevel/jobs"
	"relevel/jobs/jobstest"
	"relevel/jobs/pgjobs"
)

func TestStore(t *testing.T) {
	db := pgtest.New(t).App
	jobstest.Store(t, func(*testing.T) jobs.Store { return pgjobs.New(db) })
}

func TestAway(t *testing.T) {
	db := pgtest.Own(t)
	store := pgjobs.New(db.App)
	if err := db.Server.Stop(); err != nil {
		t.Fatal(err)
	}
	firm := events.ID{1}
	if _, err := store.FindFirm(t.Context(), firm); !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("FindFirm = %v, want ErrUnavailable", err)
	}
	err := store.CreateFirm(t.Context(), jobs.Firm{ID: firm, Name: "Level Best", Words: jobs.Australia})
	if !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("CreateFirm = %v, want ErrUnavailable", err)
	}
}
