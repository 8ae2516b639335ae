package jobstest

import (
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

func jobChanged(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	crew := jobs.Crew{Firm: firm, ID: newID(t), Name: "North"}
	must(t, s.CreateCrew(t.Context(), crew))
	created := newJob(t, firm)
	must(t, s.CreateJob(t.Context(), created))

	changed := created
	changed.Name, changed.Place, changed.Zone, changed.Crew = "16 Wattle Street", "", "Australia/Hobart", crew.ID
	changed.PlannedFirst, changed.PlannedLast = "2026-03-02", "2026-03-06"
	must(t, s.UpdateJob(t.Context(), changed))
	wantErr(t, "UpdateJob of what it was", s.UpdateJob(t.Context(), changed), events.ErrConflict)
	changed.Revision = 1
	got, err := s.FindJob(t.Context(), firm, created.ID)
	want(t, "FindJob", got, err, changed)
	wantErr(t, "CreateJob as it was", s.CreateJob(t.Context(), created), events.ErrConflict)

	changed.PlannedFirst, changed.PlannedLast, changed.Crew = "", "", events.ID{}
	must(t, s.UpdateJob(t.Context(), changed))
	changed.Revision = 2
	got, err = s.FindJob(t.Context(), firm, created.ID)
	want(t, "FindJob", got, err, changed)

	crewless := changed
	crewless.Crew = newID(t)
	wantErr(t, "UpdateJob with no such crew", s.UpdateJob(t.Context(), crewless), events.ErrNotFound)
	elsewhere := changed
	elsewhere.Firm = newFirm(t, s).ID
	wantErr(t, "UpdateJob of another firm", s.UpdateJob(t.Context(), elsewhere), events.ErrNotFound)
}

func jobClosed(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	j := newJob(t, firm)
	must(t, s.CreateJob(t.Context(), j))
	end := jobs.Closing{Firm: firm, ID: newID(t), Job: j.ID, Closed: true, At: start.Add(time.Hour), By: newID(t), Why: "handed over", Seq: 12}
	for range 2 { // the second time it changes nothing
		must(t, s.CloseJob(t.Context(), end))
	}
	closed := j
	closed.ClosedAt, closed.ClosedSeq, closed.Revision = end.At, end.Seq, 1
	got, err := s.FindJob(t.Context(), firm, j.ID)
	want(t, "FindJob", got, err, closed)
	twice := end
	twice.ID = newID(t)
	wantErr(t, "CloseJob of a closed one", s.CloseJob(t.Context(), twice), events.ErrConflict)

	again := jobs.Closing{Firm: firm, ID: newID(t), Job: j.ID, At: start.Add(2 * time.Hour), Why: "a door sticks", Seq: 13}
	must(t, s.CloseJob(t.Context(), again))
	opened := j
	opened.Revision = 2
	got, err = s.FindJob(t.Context(), firm, j.ID)
	want(t, "FindJob", got, err, opened)
	must(t, s.CloseJob(t.Context(), end)) // a form that comes back late
	got, err = s.FindJob(t.Context(), firm, j.ID)
	want(t, "FindJob after a late repeat", got, err, opened)
	all, err := s.ListClosings(t.Context(), firm, j.ID)
	want(t, "ListClosings", all, err, []jobs.Closing{again, end})

	stranger := newFirm(t, s).ID
	theirs := end
	theirs.Firm, theirs.ID = stranger, newID(t)
	wantErr(t, "CloseJob of another firm's", s.CloseJob(t.Context(), theirs), events.ErrNotFound)
	all, err = s.ListClosings(t.Context(), stranger, j.ID)
	want(t, "ListClosings of another firm", len(all), err, 0)
}

// Of many who close a job at once one does.
func jobClosedAtOnce(t *testing.T, s jobs.Store) {
	j := newJob(t, newFirm(t, s).ID)
	must(t, s.CreateJob(t.Context(), j))
	var done atomic.Int32
	var wg sync.WaitGroup
	for range 8 {
		c := jobs.Closing{Firm: j.Firm, ID: newID(t), Job: j.ID, Closed: true, At: start, Why: "done"}
		wg.Go(func() {
			if s.CloseJob(t.Context(), c) == nil {
				done.Add(1)
			}
		})
	}
	wg.Wait()
	all, err := s.ListClosings(t.Context(), j.Firm, j.ID)
	want(t, "ListClosings", len(all), err, 1)
	if n := done.Load(); n != 1 {
		t.Errorf("%d were told that they closed it, want 1", n)
	}
}

func summaryDiary(t *testing.T, s jobs.Store) {
	firm, job := newFirm(t, s).ID, newID(t)
	day := func(on string, n int) jobs.Day {
		return jobs.Day{On: on, By: []events.ID{firm}, Moved: []jobs.DayMove{{Support: "B1-1", MM: float64(n)}}, Counts: []jobs.DayCount{{What: "final", N: n}},
			From: start, LastAt: start, LastSeq: int64(n)}
	}
	save := func(seq int64, days ...jobs.Day) {
		must(t, s.SaveSummary(t.Context(), jobs.Summary{Firm: firm, Job: job, Seq: seq, Version: 1, Small: "<svg/>", Diary: days}))
	}
	save(5, day("2026-03-02", 1), day("2026-03-03", 2), day("2026-03-05", 3))
	save(6, day("2026-03-02", 1), day("2026-03-03", 4)) // the third day was voided
	save(4, day("2026-03-01", 9))                       // late, and older
	got, err := s.ListDiary(t.Context(), firm, "2026-03-02", "2026-03-05")
	want(t, "ListDiary", got, err, []jobs.DayOf{{Job: job, Day: day("2026-03-02", 1)}, {Job: job, Day: day("2026-03-03", 4)}})
	got, err = s.ListDiary(t.Context(), firm, "2026-03-03", "2026-03-03")
	want(t, "ListDiary of a day", got, err, []jobs.DayOf{{Job: job, Day: day("2026-03-03", 4)}})
	got, err = s.ListDiary(t.Context(), newFirm(t, s).ID, "2026-03-02", "2026-03-05")
	want(t, "ListDiary of another firm", len(got), err, 0)

	sums, err := s.ListSummaries(t.Context(), firm, job)
	want(t, "ListSummaries of one", sums, err, []jobs.Summary{{Firm: firm, Job: job, Seq: 6, Version: 1, Small: "<svg/>"}})
	sums, err = s.ListSummaries(t.Context(), firm, newID(t))
	want(t, "ListSummaries of none", len(sums), err, 0)
	sums, err = s.ListSummaries(t.Context(), newFirm(t, s).ID, job)
	want(t, "ListSummaries of another firm", len(sums), err, 0)
}

func jobsStanding(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	begun, changed := newJob(t, firm), newJob(t, firm)
	must(t, s.CreateJob(t.Context(), begun))
	must(t, s.CreateJob(t.Context(), changed))
	must(t, s.SaveSummary(t.Context(), jobs.Summary{Firm: firm, Job: begun.ID, Seq: 6, Version: 1}))
	must(t, s.UpdateJob(t.Context(), changed))
	got, err := s.ListLatest(t.Context(), firm)
	want(t, "ListLatest", got, err, map[events.ID]jobs.Latest{begun.ID: {Seq: 6}, changed.ID: {Seq: -1, Revision: 1}})
	got, err = s.ListLatest(t.Context(), newFirm(t, s).ID)
	want(t, "ListLatest of another firm", len(got), err, 0)
}

func jobsFolded(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	older, newer, closed := newJob(t, firm), newJob(t, firm), newJob(t, firm)
	newer.CreatedAt = start.Add(time.Hour)
	for _, j := range []jobs.Job{older, newer, closed} {
		must(t, s.CreateJob(t.Context(), j))
	}
	must(t, s.CloseJob(t.Context(), jobs.Closing{Firm: firm, ID: newID(t), Job: closed.ID, Closed: true, At: start, Why: "done", Seq: 3}))
	closed.ClosedAt, closed.ClosedSeq, closed.Revision = start, 3, 1
	for _, id := range []events.ID{older.ID, closed.ID} {
		must(t, s.SaveSummary(t.Context(), jobs.Summary{Firm: firm, Job: id, Seq: 3, Version: 7}))
	}
	got, err := s.ListFolded(t.Context(), firm, false)
	want(t, "ListFolded", got, err, []jobs.Folded{{Job: newer}, {Job: older, Seq: 3, Version: 7}})
	got, err = s.ListFolded(t.Context(), firm, true)
	want(t, "ListFolded of those closed", got, err, []jobs.Folded{{Job: closed, Seq: 3, Version: 7}})
	got, err = s.ListFolded(t.Context(), newFirm(t, s).ID, false)
	want(t, "ListFolded of another firm", len(got), err, 0)
}

func calendarOK(t *testing.T, s jobs.Store) {
	firm, stranger := newFirm(t, s).ID, newFirm(t, s).ID
	crew := jobs.Crew{Firm: firm, ID: newID(t), Name: "North"}
	must(t, s.CreateCrew(t.Context(), crew))
	first := jobs.Calendar{Firm: firm, ID: newID(t), Crew: crew.ID, Hash: events.Digest{1}, Name: "Ari's phone", CreatedAt: start}
	second := jobs.Calendar{Firm: firm, ID: newID(t), Crew: crew.ID, Hash: events.Digest{2}, Name: "the wall", CreatedAt: start.Add(time.Hour)}
	for _, c := range []jobs.Calendar{first, second, first} {
		must(t, s.CreateCalendar(t.Context(), c))
	}
	same := second
	same.ID = newID(t)
	wantErr(t, "CreateCalendar with a hash that is there", s.CreateCalendar(t.Context(), same), events.ErrConflict)
	renamed := first
	renamed.Name = "another"
	wantErr(t, "CreateCalendar of other content", s.CreateCalendar(t.Context(), renamed), events.ErrConflict)
	theirs := first
	theirs.Firm, theirs.ID = stranger, newID(t)
	wantErr(t, "CreateCalendar with another firm's crew", s.CreateCalendar(t.Context(), theirs), events.ErrNotFound)

	got, err := s.FindCalendar(t.Context(), firm, first.Hash)
	want(t, "FindCalendar", got, err, first)
	_, err = s.FindCalendar(t.Context(), stranger, first.Hash)
	wantErr(t, "FindCalendar of another firm", err, events.ErrNotFound)
	wantErr(t, "RevokeCalendar of another firm", s.RevokeCalendar(t.Context(), stranger, first.ID, start), events.ErrNotFound)
	must(t, s.RevokeCalendar(t.Context(), firm, first.ID, start.Add(2*time.Hour)))
	must(t, s.RevokeCalendar(t.Context(), firm, first.ID, start.Add(3*time.Hour)))
	_, err = s.FindCalendar(t.Context(), firm, first.Hash)
	wantErr(t, "FindCalendar of one revoked", err, events.ErrNotFound)
	first.RevokedAt = start.Add(2 * time.Hour)
	all, err := s.ListCalendars(t.Context(), firm)
	want(t, "ListCalendars", all, err, []jobs.Calendar{second, first})
}
