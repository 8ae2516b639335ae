package demo

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"relevel/cmd/relevel/client"
	"relevel/jobs"
)

// batch is how many events go in one request: well below what a server takes.
const batch = 200

// Load sends a demo to a server through its API. Loading it again, whole or
// after it broke off, adds nothing twice.
func Load(ctx context.Context, c *client.Client, d Demo) error {
	for _, crew := range d.Crews {
		if err := loadCrew(ctx, c, crew); err != nil {
			return fmt.Errorf("load %s: %w", crew.Crew.Name, err)
		}
	}
	if err := d.Kit.load(ctx, c); err != nil {
		return fmt.Errorf("load the kit: %w", err)
	}
	for _, h := range d.Jobs {
		if err := h.load(ctx, c); err != nil {
			return fmt.Errorf("load %s: %w", h.Job.Name, err)
		}
	}
	for _, s := range d.Strays {
		if err := s.load(ctx, c); err != nil {
			return fmt.Errorf("load what has no place: %w", err)
		}
	}
	for _, crew := range d.Crews {
		if err := crew.loadPhone(ctx, c); err != nil {
			return fmt.Errorf("load the phone of %s: %w", crew.Crew.Name, err)
		}
	}
	return nil
}

func loadCrew(ctx context.Context, c *client.Client, crew Crew) error {
	if err := c.CreateCrew(ctx, crew.Crew); err != nil {
		return err
	}
	if err := c.CreatePerson(ctx, crew.Lead); err != nil {
		return err
	}
	return c.CreatePerson(ctx, crew.Hand)
}

// loadPhone pairs a crew's phone, and says what is still on it.
func (crew Crew) loadPhone(ctx context.Context, c *client.Client) error {
	first, _, _ := strings.Cut(crew.Lead.Name, " ")
	if err := c.Pair(ctx, first+"’s phone", crew.Phone.ID); err != nil {
		return err
	}
	report := jobs.PhoneReport{Version: "demo", Unsent: crew.Phone.Unsent}
	if report.Unsent > 0 {
		report.OldestUnsentAt = crew.Phone.last
	}
	return c.ReportPhone(ctx, crew.Phone.ID, report)
}

func (h History) load(ctx context.Context, c *client.Client) error {
	if err := c.CreateJob(ctx, h.Job); err != nil {
		return err
	}
	for digest, jpeg := range h.Book.Photos {
		if err := c.PutPhoto(ctx, digest, jpeg); err != nil {
			return err
		}
	}
	for sealed := range slices.Chunk(h.Book.Events, batch) {
		if _, err := c.Append(ctx, h.Job.ID, sealed); err != nil {
			return err
		}
	}
	if h.Closed != nil {
		return c.CloseJob(ctx, *h.Closed)
	}
	return nil
}
