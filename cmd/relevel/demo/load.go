package demo

import (
	"context"
	"fmt"
	"slices"

	"relevel/cmd/relevel/client"
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
