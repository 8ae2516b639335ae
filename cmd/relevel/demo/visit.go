package demo

import (
	"context"
	"fmt"
	"time"

	"relevel/cmd/relevel/client"
	"relevel/events"
	"relevel/jobs"
)

// visitDays is how long a played job takes, with its nights and its rest.
const visitDays = 10

// Visit makes the crew and the job of a visit to the long hall cottage that is
// over by now, and midnight before its first day. The same label and time give
// the same ids.
func Visit(now time.Time, label string) (Crew, jobs.Job, time.Time, error) {
	zone, err := time.LoadLocation(Zone)
	if err != nil {
		return Crew{}, jobs.Job{}, time.Time{}, fmt.Errorf("find the time on site: %w", err)
	}
	days := lastDay(now.In(zone)).AddDate(0, 0, -visitDays)
	crews, err := newCrews(days)
	if err != nil {
		return Crew{}, jobs.Job{}, time.Time{}, err
	}
	id, err := events.NewID(days, source(label))
	if err != nil {
		return Crew{}, jobs.Job{}, time.Time{}, err
	}
	crew := crews[0]
	job := jobs.Job{ID: id, Name: LongHall().Name, Place: "an invented street", Crew: crew.Crew.ID, Zone: Zone, CreatedAt: days}
	return crew, job, days, nil
}

// Start makes a crew and its job known to a server.
func Start(ctx context.Context, c *client.Client, crew Crew, job jobs.Job) error {
	if err := loadCrew(ctx, c, crew); err != nil {
		return err
	}
	return c.CreateJob(ctx, job)
}
