package jobstest

import (
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

func newJack(t *testing.T, firm events.ID, name string) jobs.Jack {
	t.Helper()
	return jobs.Jack{Firm: firm, ID: newID(t), Name: name, RatedKN: 98.1, BoreMM: 50.8, InspectedOn: "2026-01-05", DueOn: "2026-07-05", Note: "new seal", CreatedAt: start}
}

func jackOK(t *testing.T, s jobs.Store) {
	firm, other := newFirm(t, s).ID, newFirm(t, s).ID
	none, err := s.ListJacks(t.Context(), firm)
	want(t, "ListJacks before", len(none), err, 0)
	bottle, screw := newJack(t, firm, "bottle 1"), newJack(t, firm, "Screw 2")
	screw.BoreMM, screw.DueOn, screw.Note = 0, "", ""
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

func practiceOK(t *testing.T, s jobs.Store) {
	firm, other := newFirm(t, s).ID, newFirm(t, s).ID
	none, err := s.FindPractice(t.Context(), firm)
	want(t, "FindPractice before", none, err, jobs.Practice{Firm: firm})
	p := jobs.Practice{Firm: firm, ID: newID(t), StepMM: 3, DailyMM: 9.5, NeighbourMM: 4, Ratio: 500, Jacks: 2, MaxOut: 1, MaxBlocked: 3, RestHours: 12,
		StockMM: []float64{25, 18, 0.8}, WithinMM: 1, MaxPieces: 2, PackingRule: "mbie", CreatedAt: start}
	must(t, s.CreatePractice(t.Context(), p))
	must(t, s.CreatePractice(t.Context(), p))
	newer := jobs.Practice{Firm: firm, ID: newID(t), StepMM: 5, CreatedAt: start.Add(time.Hour)}
	must(t, s.CreatePractice(t.Context(), newer))
	older := jobs.Practice{Firm: firm, ID: newID(t), StepMM: 7, CreatedAt: start.Add(-time.Hour)}
	must(t, s.CreatePractice(t.Context(), older))
	got, err := s.FindPractice(t.Context(), firm)
	want(t, "FindPractice", got, err, newer)
	theirs, err := s.FindPractice(t.Context(), other)
	want(t, "FindPractice of another firm", theirs, err, jobs.Practice{Firm: other})
	changed := p
	changed.StockMM = []float64{25, 18}
	wantErr(t, "CreatePractice", s.CreatePractice(t.Context(), changed), events.ErrConflict)
	wantErr(t, "CreatePractice of nobody", s.CreatePractice(t.Context(), jobs.Practice{Firm: newID(t), ID: newID(t), CreatedAt: start}), events.ErrNotFound)
}
