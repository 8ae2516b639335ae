package server

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/gorilla/mux"
	"golang.org/x/sync/errgroup"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/icalendar"
	"relevel/server/web"
)

// calendarPath is where calendars fetch a crew's days. What follows opens them, so it
// is in no log.
const calendarPath = "/calendar/"

// calendarBack is how many days back a calendar shows what was done.
const calendarBack = 180

// getCalendar is GET /calendar/{token}.ics. Whoever has the address reads it; one
// that is revoked, or never was, is not there.
func (s *Server) getCalendar(w http.ResponseWriter, r *http.Request) error {
	firm, hash, err := jobs.ParseToken(mux.Vars(r)["token"])
	if err != nil {
		return events.ErrNotFound
	}
	link, err := s.config.Store.FindCalendar(r.Context(), firm, hash)
	if err != nil {
		return err
	}
	c := &crewCalendar{sheet: s.newSheet(), crew: link.Crew, home: s.address(r)}
	if err := c.read(r.Context(), s, firm); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/calendar; charset=utf-8")
	w.Header().Set("Content-Disposition", `inline; filename="crew.ics"`)
	w.Write(c.feed().Write()) // a reader that has gone away is no error
	return nil
}

// crewCalendar is what a crew's calendar is made of.
type crewCalendar struct {
	*sheet
	crew events.ID
	home string // the address of this server, for links
	rows []jobs.Summary
	days []jobs.DayOf

	of   map[events.ID]jobs.Job // the crew's jobs
	list []icalendar.Event
}

// read asks for the crew's jobs, their rows and days, and the firm's kit.
func (c *crewCalendar) read(ctx context.Context, s *Server, firm events.ID) error {
	store := s.config.Store
	if err := c.readFirm(ctx, store, firm); err != nil {
		return err
	}
	all, err := store.ListJobs(ctx, firm)
	if err != nil {
		return err
	}
	c.of = map[events.ID]jobs.Job{}
	var ids []events.ID
	for _, j := range all {
		if j.Crew == c.crew {
			c.of[j.ID] = j
			ids = append(ids, j.ID)
		}
	}
	g, ctx := errgroup.WithContext(ctx)
	if len(ids) > 0 {
		g.Go(func() (err error) { c.rows, err = store.ListSummaries(ctx, firm, ids...); return err })
	}
	from, to := c.now.AddDate(0, 0, -calendarBack).Format(time.DateOnly), c.now.AddDate(0, 0, 2).Format(time.DateOnly)
	g.Go(func() (err error) { c.days, err = store.ListDiary(ctx, firm, from, to); return err })
	g.Go(func() (err error) { c.jacks, err = store.ListJacks(ctx, firm); return err })
	g.Go(func() (err error) { c.lasers, err = store.ListLasers(ctx, firm); return err })
	return g.Wait()
}

func (c *crewCalendar) feed() icalendar.Calendar {
	name := c.firm.Name
	for _, one := range c.crews {
		if one.ID == c.crew {
			name = one.Name + ", " + name
		}
	}
	for _, d := range c.days {
		if j, ok := c.of[d.Job]; ok {
			c.worked(j, d.Day)
		}
	}
	for _, j := range c.of {
		c.planned(j)
	}
	for _, row := range c.rows {
		c.due(c.of[row.Job], row.Brief)
	}
	c.kit()
	slices.SortFunc(c.list, func(a, b icalendar.Event) int { return strings.Compare(a.UID, b.UID) })
	return icalendar.Calendar{Name: name, Maker: "relevel", Events: c.list}
}

// add puts a thing about a job into the calendar. what tells it from the others about
// that job, and stays.
func (c *crewCalendar) add(j jobs.Job, what string, e icalendar.Event) {
	e.UID = what + "." + j.ID.String() + "@relevel"
	e.Location, e.URL = j.Place, c.home+"/jobs/"+j.ID.String()
	c.list = append(c.list, e)
}

// worked are a day's work and the inspectors' visits on it.
func (c *crewCalendar) worked(j jobs.Job, d jobs.Day) {
	zone := c.site(j).now.Location()
	c.add(j, "worked-"+d.On, icalendar.Event{Changed: d.LastAt, First: d.On, Last: d.On, Summary: j.Name, Description: d.Words(zone, c.firm.Units)})
	for _, v := range d.Seen {
		c.add(j, "inspection-"+v.ID.String(), icalendar.Event{Changed: v.At, At: v.At, Summary: j.Name + ": inspection", Description: v.Text})
	}
}

func (c *crewCalendar) planned(j jobs.Job) {
	if j.PlannedFirst != "" && !j.IsClosed() {
		c.add(j, "planned", icalendar.Event{Changed: j.CreatedAt, Revision: j.Revision, First: j.PlannedFirst, Last: j.PlannedLast, Summary: j.Name + ": planned"})
	}
}

// due are the dates that somebody agreed to: findings to be mended, coming back.
func (c *crewCalendar) due(j jobs.Job, b jobs.Brief) {
	for _, it := range b.Owed.Findings {
		if it.Due != "" {
			c.add(j, "finding-"+it.ID.String(), icalendar.Event{Changed: it.At, First: it.Due, Last: it.Due, Summary: j.Name + ": due " + it.Text, Description: it.Trade})
		}
	}
	for _, day := range b.ComeBack {
		c.add(j, "back-"+day, icalendar.Event{Changed: b.Handed, First: day, Last: day, Summary: j.Name + ": come back and read"})
	}
}

// kit are the days on which jacks and lasers are to be inspected again.
func (c *crewCalendar) kit() {
	add := func(id events.ID, what string, changed time.Time, of jobs.Upkeep) {
		if of.DueOn != "" && !of.Gone {
			c.list = append(c.list, icalendar.Event{UID: "kit-" + id.String() + "@relevel", Changed: changed, First: of.DueOn, Last: of.DueOn,
				Summary: web.Upper(what) + ": inspection due", URL: c.home + "/kit"})
		}
	}
	for _, j := range c.jacks {
		add(j.ID, "jack "+j.Name, j.CreatedAt, j.Upkeep)
	}
	for _, l := range c.lasers {
		add(l.ID, "laser "+l.Name, l.CreatedAt, l.Upkeep)
	}
}
