package demo

import (
	"cmp"
	"context"
	"fmt"
	"time"

	"golang.org/x/sync/errgroup"

	"relevel/events"
	"relevel/jobs"
)

// Demo is everything the demo holds: a firm's people, crews and jobs, and what
// was recorded on each.
type Demo struct {
	Crews  []Crew
	Kit    Kit
	Jobs   []History
	Strays []Stray
}

// History is one job with its book.
type History struct {
	Job    jobs.Job
	Book   *Draft
	Closed *jobs.Closing // nil while it is open
}

// Main is the job that a visitor is shown first.
func (d Demo) Main() jobs.Job { return d.Jobs[0].Job }

// tale is one job to be told.
type tale struct {
	name, place string
	house       func() House
	crew        int
	tell        func(*story)
	first, last int    // the days it is planned for, so many before today; both 0: none
	closed      string // why the office has closed it, "" where it has not
}

func tales() []tale {
	return []tale{
		{"Long hall cottage", "an invented street", LongHall, 0, tellRunning, 13, -4, ""},
		{"Two gables", "an invented lane", TwoGables, 1, tellWaiting, -3, -8, ""},
		{"Back veranda house", "an invented corner", BackVeranda, 2, tellFinished, 44, 33, "handed over and paid; the crew comes back to read"},
		{"Shop on the corner", "an invented square", BackVeranda, 3, tellOvernight, 6, -5, ""},
	}
}

// New makes the demo as it stands at a time. The same time gives the same ids
// and the same bytes.
func New(ctx context.Context, at time.Time) (Demo, error) {
	zone, err := time.LoadLocation(Zone)
	if err != nil {
		return Demo{}, fmt.Errorf("find the time on site: %w", err)
	}
	made := at.Truncate(time.Second)
	crews, err := newCrews(made)
	if err != nil {
		return Demo{}, err
	}
	kit, err := newKit(made)
	if err != nil {
		return Demo{}, err
	}
	// Each job has a crew of its own, so they can be told side by side: most of
	// the time goes into the pictures.
	d := Demo{Crews: crews, Kit: kit, Jobs: make([]History, len(tales()))}
	var telling errgroup.Group
	for i, t := range tales() {
		telling.Go(func() (err error) {
			if d.Jobs[i], err = t.write(ctx, crews[t.crew], lastDay(at.In(zone))); err != nil {
				return fmt.Errorf("tell of %s: %w", t.name, err)
			}
			return nil
		})
	}
	if err := telling.Wait(); err != nil {
		return Demo{}, err
	}
	d.Strays, err = strays(crews[1], d.Jobs[1])
	return d, err
}

// lastDay is midnight before the last morning that is over: nobody is to have
// recorded anything in the future.
func lastDay(at time.Time) time.Time {
	day := time.Date(at.Year(), at.Month(), at.Day(), 0, 0, 0, 0, at.Location())
	if at.Hour() < 13 {
		return day.AddDate(0, 0, -1)
	}
	return day
}

func (t tale) write(ctx context.Context, crew Crew, today time.Time) (History, error) {
	id, err := events.NewID(today, source("relevel demo job "+t.name))
	if err != nil {
		return History{}, err
	}
	h := History{
		Job: jobs.Job{ID: id, Name: t.name, Place: t.place, Crew: crew.Crew.ID, Zone: Zone, CreatedAt: today.AddDate(0, 0, -60).UTC()},
	}
	if t.first != 0 || t.last != 0 {
		h.Job.PlannedFirst, h.Job.PlannedLast = today.AddDate(0, 0, -t.first).Format(time.DateOnly), today.AddDate(0, 0, -t.last).Format(time.DateOnly)
	}
	h.Book = NewDraft(id, crew.Phone)
	s := &story{Site: NewSite(ctx, t.house(), "relevel demo "+t.name, h.Book), crew: crew, today: today}
	s.By = crew.Lead.ID
	t.tell(s)
	if t.closed != "" && s.Err == nil {
		h.Closed, err = t.closing(id, crew, s.Now, int64(len(h.Book.Events)))
	}
	return h, cmp.Or(s.Err, err)
}

// closing is the office's decision on the book of a job as it stands.
func (t tale) closing(job events.ID, crew Crew, at time.Time, seq int64) (*jobs.Closing, error) {
	id, err := events.NewID(at, source("relevel demo closing "+t.name))
	return &jobs.Closing{ID: id, Job: job, Closed: true, By: crew.Lead.ID, Why: t.closed, Seq: seq}, err
}

// story is a site over several days.
type story struct {
	*Site
	crew  Crew
	today time.Time
	leak  events.ID // the finding that has to be mended
}

// day goes to so many days before today, at an hour and minute.
func (s *story) day(before, hour, minute int) {
	s.Now = time.Date(s.today.Year(), s.today.Month(), s.today.Day()-before, hour, minute, 0, 0, s.today.Location())
}

// date is so many days before today, as a date.
func (s *story) date(before int) string { return s.today.AddDate(0, 0, -before).Format(time.DateOnly) }

func mm(v float64) *events.Length {
	l := events.MM(v)
	return &l
}
