package jobstest

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// UpdateJob implements jobs.Jobs.
func (m *Memory) UpdateJob(ctx context.Context, j jobs.Job) error {
	return m.call(ctx, "UpdateJob", func() error {
		kept, ok := m.jobs[key{j.Firm, j.ID}]
		if _, crewed := m.crews[key{j.Firm, j.Crew}]; !ok || !crewed && !j.Crew.IsZero() {
			return events.ErrNotFound
		}
		if kept.Revision != j.Revision {
			return events.ErrConflict
		}
		j.CreatedAt, j.ClosedAt, j.ClosedSeq, j.Revision = kept.CreatedAt, kept.ClosedAt, kept.ClosedSeq, kept.Revision+1
		m.jobs[key{j.Firm, j.ID}] = j
		return nil
	})
}

// CloseJob implements jobs.Jobs.
func (m *Memory) CloseJob(ctx context.Context, c jobs.Closing) error {
	return m.call(ctx, "CloseJob", func() error {
		j, ok := m.jobs[key{c.Firm, c.Job}]
		if !ok {
			return events.ErrNotFound
		}
		if _, again := m.closings[key{c.Firm, c.ID}]; again {
			return nil
		}
		if j.IsClosed() == c.Closed {
			return events.ErrConflict
		}
		j.ClosedAt, j.ClosedSeq, j.Revision = time.Time{}, 0, j.Revision+1
		if c.Closed {
			j.ClosedAt, j.ClosedSeq = c.At, c.Seq
		}
		m.jobs[key{c.Firm, c.Job}], m.closings[key{c.Firm, c.ID}] = j, c
		return nil
	})
}

// ListClosings implements jobs.Jobs.
func (m *Memory) ListClosings(ctx context.Context, firm, job events.ID) (all []jobs.Closing, err error) {
	err = m.call(ctx, "ListClosings", func() error {
		all = ofFirm(m.closings, firm, func(a, b jobs.Closing) int { return cmp.Or(b.At.Compare(a.At), compareIDs(b.ID, a.ID)) })
		all = slices.DeleteFunc(all, func(c jobs.Closing) bool { return c.Job != job })
		return nil
	})
	return all, err
}

// SaveSummary implements jobs.Summaries.
func (m *Memory) SaveSummary(ctx context.Context, s jobs.Summary) error {
	return m.call(ctx, "SaveSummary", func() error {
		if s.Firm.IsZero() {
			return events.ErrNotFound
		}
		k := key{s.Firm, s.Job}
		if kept, ok := m.summaries[k]; !ok || kept.Version != s.Version || kept.Seq <= s.Seq {
			m.summaries[k] = s
		}
		return nil
	})
}

// ListSummaries implements jobs.Summaries.
func (m *Memory) ListSummaries(ctx context.Context, firm events.ID, of ...events.ID) (all []jobs.Summary, err error) {
	err = m.call(ctx, "ListSummaries", func() error {
		all = ofFirm(m.summaries, firm, func(a, b jobs.Summary) int { return compareIDs(a.Job, b.Job) })
		all = slices.DeleteFunc(all, func(s jobs.Summary) bool { return len(of) > 0 && !slices.Contains(of, s.Job) })
		for i := range all {
			all[i].Diary = nil
		}
		return nil
	})
	return all, err
}

// ListLatest implements jobs.Summaries.
func (m *Memory) ListLatest(ctx context.Context, firm events.ID) (all map[events.ID]jobs.Latest, err error) {
	err = m.call(ctx, "ListLatest", func() error {
		all = map[events.ID]jobs.Latest{}
		for _, j := range ofFirm(m.jobs, firm, newestFirst) {
			s := jobs.Latest{Seq: -1, Revision: j.Revision}
			if row, ok := m.summaries[key{firm, j.ID}]; ok {
				s.Seq = row.Seq
			}
			all[j.ID] = s
		}
		return nil
	})
	return all, err
}

// ListFolded implements jobs.Summaries.
func (m *Memory) ListFolded(ctx context.Context, firm events.ID, closed bool) (all []jobs.Folded, err error) {
	err = m.call(ctx, "ListFolded", func() error {
		for _, j := range ofFirm(m.jobs, firm, newestFirst) {
			if j.IsClosed() == closed {
				row := m.summaries[key{firm, j.ID}]
				all = append(all, jobs.Folded{Job: j, Seq: row.Seq, Version: row.Version})
			}
		}
		return nil
	})
	return all, err
}

// ListDiary implements jobs.Summaries.
func (m *Memory) ListDiary(ctx context.Context, firm events.ID, from, to string) (all []jobs.DayOf, err error) {
	err = m.call(ctx, "ListDiary", func() error {
		for k, s := range m.summaries {
			for _, d := range s.Diary {
				if k.firm == firm && from <= d.On && d.On <= to {
					all = append(all, jobs.DayOf{Job: k.id, Day: d})
				}
			}
		}
		slices.SortFunc(all, func(a, b jobs.DayOf) int { return cmp.Or(strings.Compare(a.On, b.On), compareIDs(a.Job, b.Job)) })
		return nil
	})
	return all, err
}

// CreateCalendar implements jobs.Calendars.
func (m *Memory) CreateCalendar(ctx context.Context, c jobs.Calendar) error {
	return m.call(ctx, "CreateCalendar", func() error {
		if _, ok := m.crews[key{c.Firm, c.Crew}]; !ok {
			return events.ErrNotFound
		}
		for k, kept := range m.calendars {
			if k.firm == c.Firm && kept.Hash == c.Hash && k.id != c.ID {
				return events.ErrConflict
			}
		}
		return put(m.calendars, key{c.Firm, c.ID}, c, func(a, b jobs.Calendar) bool { return a.Hash == b.Hash && a.Name == b.Name && a.Crew == b.Crew })
	})
}

// FindCalendar implements jobs.Calendars.
func (m *Memory) FindCalendar(ctx context.Context, firm events.ID, hash events.Digest) (c jobs.Calendar, err error) {
	err = m.call(ctx, "FindCalendar", func() error {
		for k, kept := range m.calendars {
			if k.firm == firm && kept.Hash == hash && kept.RevokedAt.IsZero() {
				c = kept
				return nil
			}
		}
		return events.ErrNotFound
	})
	return c, err
}

// RevokeCalendar implements jobs.Calendars.
func (m *Memory) RevokeCalendar(ctx context.Context, firm, id events.ID, at time.Time) error {
	return m.call(ctx, "RevokeCalendar", func() error {
		c, ok := m.calendars[key{firm, id}]
		if !ok {
			return events.ErrNotFound
		}
		if c.RevokedAt.IsZero() {
			c.RevokedAt = at
			m.calendars[key{firm, id}] = c
		}
		return nil
	})
}

// ListCalendars implements jobs.Calendars.
func (m *Memory) ListCalendars(ctx context.Context, firm events.ID) (all []jobs.Calendar, err error) {
	err = m.call(ctx, "ListCalendars", func() error {
		all = ofFirm(m.calendars, firm, func(a, b jobs.Calendar) int { return cmp.Or(b.CreatedAt.Compare(a.CreatedAt), compareIDs(b.ID, a.ID)) })
		return nil
	})
	return all, err
}
