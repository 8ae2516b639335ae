package demo

import (
	"context"
	"time"

	"relevel/cmd/relevel/client"
	"relevel/events"
	"relevel/jobs"
)

// Kit is what the demo's firm lifts with, and how it goes about it.
type Kit struct {
	Jacks    []jobs.Jack
	Lasers   []jobs.Laser
	Practice jobs.Practice
}

// newKit makes the kit, with ids that depend on the time and nothing else.
func newKit(at time.Time) (Kit, error) {
	random := source("relevel demo kit")
	date := func(months int) string { return at.AddDate(0, months, 0).Format(time.DateOnly) }
	k := Kit{
		Jacks: []jobs.Jack{
			{Name: "blue bottle", RatedKN: 98, BoreMM: 32, Gauge: true, Upkeep: jobs.Upkeep{InspectedOn: date(-2), DueOn: date(4)}},
			{Name: "red bottle", RatedKN: 49, BoreMM: 25, Gauge: true, Upkeep: jobs.Upkeep{InspectedOn: date(-7), DueOn: date(-1), Note: "weeps a little"}},
			{Name: "old screw", RatedKN: 40, Upkeep: jobs.Upkeep{InspectedOn: date(-9), Gone: true, Note: "the thread is worn"}},
			{Name: "screw jack 3", RatedKN: 60, Upkeep: jobs.Upkeep{InspectedOn: date(-1), DueOn: date(5)}},
		},
		Lasers: []jobs.Laser{
			{Name: Laser, SDMMPerM: 0.05, Upkeep: jobs.Upkeep{InspectedOn: date(-3), DueOn: date(9)}},
			{Name: Level, SDMMPerM: 0.1, Upkeep: jobs.Upkeep{InspectedOn: date(-14), DueOn: date(-2), Note: "for the yard"}},
		},
		Practice: jobs.Practice{StepMM: 6, DailyMM: 18, NeighbourMM: 8, Jacks: 2, MaxOut: 1, MaxBlocked: 2, RestHours: 12,
			StockMM: []float64{45, 35, 25, 18, 12, 6, 3}, WithinMM: 0.5, MaxPieces: 2, PackingRule: "mbie"},
	}
	var err error
	for i := range k.Jacks {
		if k.Jacks[i].ID, err = events.NewID(at, random); err != nil {
			return Kit{}, err
		}
	}
	for i := range k.Lasers {
		if k.Lasers[i].ID, err = events.NewID(at, random); err != nil {
			return Kit{}, err
		}
	}
	k.Practice.ID, err = events.NewID(at, random)
	return k, err
}

func (k Kit) load(ctx context.Context, c *client.Client) error {
	for _, j := range k.Jacks {
		if err := c.CreateJack(ctx, j); err != nil {
			return err
		}
	}
	for _, l := range k.Lasers {
		if err := c.CreateLaser(ctx, l); err != nil {
			return err
		}
	}
	return c.CreatePractice(ctx, k.Practice)
}
