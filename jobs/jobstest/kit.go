package jobstest

import (
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

func newJack(t *testing.T, firm events.ID, name string) jobs.Jack {
	t.Helper()
	return jobs.Jack{Firm: firm, ID: newID(t), Name: name, RatedKN: 98.1, BoreMM: 50.8, Gauge: true, Upkeep: jobs.Upkeep{InspectedOn: "2026-01-05", DueOn: "2026-07-05", Note: "new seal"}, CreatedAt: start}
}

func jackOK(t *testing.T, s jobs.Store) {
	firm, other := newFirm(t, s).ID, newFirm(t, s).ID
	none, err := s.ListJacks(t.Context(), firm)
	want(t, "ListJacks before", len(none), err, 0)
	bottle, screw := newJack(t, firm, "bottle 1"), newJack(t, firm, "Screw 2")
	screw.BoreMM, screw.Gauge, screw.DueOn, screw.Note = 0, false, "", ""
	must(t, s.CreateJack(t.Context(), bottle))
	must(t, s.CreateJack(t.Context(), screw))
	must(t, s.CreateJack(t.Context(), bottle)) // again
	gone := newJack(t, firm, "bottle 1")
	gone.Gone, gone.CreatedAt = true, start.Add(time.Hour)
	must(t, s.CreateJack(t.Context(), gone))
	all, err := s.ListJacks(t.Context(), firm)
	want(t, "ListJacks", all, err, []jobs.Jack{screw, gone})
	theirs, err := s.ListJacks(t.Context(), other)
	want(t, "ListJacks of another firm", len(theirs), err, 0)
	changed := bottle
	changed.RatedKN = 50
	wantErr(t, "CreateJack", s.CreateJack(t.Context(), changed), events.ErrConflict)
	wantErr(t, "CreateJack of nobody", s.CreateJack(t.Context(), newJack(t, newID(t), "bottle")), events.ErrNotFound)
}

func jacksNewest(t *testing.T, s jobs.Store) {
	firm, other := newFirm(t, s).ID, newFirm(t, s).ID
	newest, older, twin := newJack(t, firm, "bottle 1"), newJack(t, firm, "bottle 1"), newJack(t, firm, "bottle 1")
	older.CreatedAt = start.Add(-time.Hour)
	twin.ID[0] = newest.ID[0] - 1 // as new, and the id is smaller
	for i, j := range []jobs.Jack{twin, newest, older} {
		j.RatedKN = float64(10 + i)
		must(t, s.CreateJack(t.Context(), j))
	}
	newest.RatedKN = 11
	// To send an old one again does not make it new.
	again := older
	again.RatedKN, again.CreatedAt = 12, start.Add(time.Hour)
	must(t, s.CreateJack(t.Context(), again))
	all, err := s.ListJacks(t.Context(), firm)
	want(t, "ListJacks", all, err, []jobs.Jack{newest})

	theirs := newJack(t, other, "of another firm")
	theirs.ID = newest.ID
	must(t, s.CreateJack(t.Context(), theirs))
	all, err = s.ListJacks(t.Context(), firm)
	want(t, "ListJacks beside the same id of another firm", all, err, []jobs.Jack{newest})
}

func kitRecords(t *testing.T, s jobs.Store) {
	firm, other := newFirm(t, s).ID, newFirm(t, s).ID
	older, newer, another, green := newJack(t, firm, "bottle 1"), newJack(t, firm, "bottle 1"), newJack(t, firm, "Screw"), newLaser(t, firm, "green")
	newer.CreatedAt, newer.Gone = start.Add(time.Hour), true
	for _, j := range []jobs.Jack{older, newer, another, newJack(t, other, "theirs")} {
		must(t, s.CreateJack(t.Context(), j))
	}
	must(t, s.CreateLaser(t.Context(), green))
	got, err := s.KitRecords(t.Context(), firm)
	want(t, "KitRecords", got, err, jobs.KitRecords{Jacks: []jobs.Jack{another, newer, older}, Lasers: []jobs.Laser{green}})
}

func practiceOK(t *testing.T, s jobs.Store) {
	firm, other := newFirm(t, s).ID, newFirm(t, s).ID
	none, err := s.FindPractice(t.Context(), firm)
	want(t, "FindPractice before", none, err, jobs.Practice{Firm: firm})
	p := jobs.Practice{Firm: firm, ID: newID(t), StepMM: 3, DailyMM: 9.5, NeighbourMM: 4, Ratio: 500, Jacks: 2, MaxOut: 1, MaxBlocked: 3, RestHours: 12,
		StockMM: []float64{25, 18, 0.8}, WithinMM: 1, MaxPieces: 2, PackingRule: "mbie", BagM3: 0.009, CreatedAt: start}
	must(t, s.CreatePractice(t.Context(), p))
	must(t, s.CreatePractice(t.Context(), p))
	newer := jobs.Practice{Firm: firm, ID: newID(t), StepMM: 5, CreatedAt: start.Add(time.Hour)}
	must(t, s.CreatePractice(t.Context(), newer))
	older := jobs.Practice{Firm: firm, ID: newID(t), StepMM: 7, CreatedAt: start.Add(-time.Hour)}
	must(t, s.CreatePractice(t.Context(), older))
	got, err := s.FindPractice(t.Context(), firm)
	want(t, "FindPractice", got, err, newer)
	twin := jobs.Practice{Firm: firm, ID: newer.ID, StepMM: 9, CreatedAt: newer.CreatedAt}
	twin.ID[0]-- // as new, and the id is smaller
	must(t, s.CreatePractice(t.Context(), twin))
	older.CreatedAt = start.Add(2 * time.Hour) // sent again
	must(t, s.CreatePractice(t.Context(), older))
	got, err = s.FindPractice(t.Context(), firm)
	want(t, "FindPractice after older ones", got, err, newer)
	theirs, err := s.FindPractice(t.Context(), other)
	want(t, "FindPractice of another firm", theirs, err, jobs.Practice{Firm: other})
	changed := p
	changed.StockMM = []float64{25, 18}
	wantErr(t, "CreatePractice", s.CreatePractice(t.Context(), changed), events.ErrConflict)
	wantErr(t, "CreatePractice of nobody", s.CreatePractice(t.Context(), jobs.Practice{Firm: newID(t), ID: newID(t), CreatedAt: start}), events.ErrNotFound)
}

func newLaser(t *testing.T, firm events.ID, name string) jobs.Laser {
	t.Helper()
	return jobs.Laser{Firm: firm, ID: newID(t), Name: name, SDMMPerM: 0.05, Upkeep: jobs.Upkeep{InspectedOn: "2026-01-05", DueOn: "2027-01-05", Note: "green beam"}, CreatedAt: start}
}

func laserOK(t *testing.T, s jobs.Store) {
	firm, other := newFirm(t, s).ID, newFirm(t, s).ID
	none, err := s.ListLasers(t.Context(), firm)
	want(t, "ListLasers before", len(none), err, 0)
	green, red := newLaser(t, firm, "green"), newLaser(t, firm, "Red")
	red.SDMMPerM, red.Upkeep = 0, jobs.Upkeep{}
	must(t, s.CreateLaser(t.Context(), green))
	must(t, s.CreateLaser(t.Context(), red))
	must(t, s.CreateLaser(t.Context(), green)) // again
	older, gone := newLaser(t, firm, "green"), newLaser(t, firm, "green")
	older.CreatedAt, gone.CreatedAt, gone.Gone = start.Add(-time.Hour), start.Add(time.Hour), true
	must(t, s.CreateLaser(t.Context(), gone))
	must(t, s.CreateLaser(t.Context(), older))
	all, err := s.ListLasers(t.Context(), firm)
	want(t, "ListLasers", all, err, []jobs.Laser{red, gone})
	theirs, err := s.ListLasers(t.Context(), other)
	want(t, "ListLasers of another firm", len(theirs), err, 0)
	changed := green
	changed.SDMMPerM = 0.1
	wantErr(t, "CreateLaser", s.CreateLaser(t.Context(), changed), events.ErrConflict)
	wantErr(t, "CreateLaser of nobody", s.CreateLaser(t.Context(), newLaser(t, newID(t), "green")), events.ErrNotFound)
}
