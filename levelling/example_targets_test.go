package levelling_test

import (
	"fmt"

	"relevel/levelling"
)

// Three supports have sunk beside one that stands on rock. Levelling all costs
// 30 mm of lift; 4 mm in any 2 m, less a margin of 1, costs 12.
func ExampleTrade() {
	points := []levelling.AimPoint{
		{ID: "B1-1", X: 0, HeightMM: 0},
		{ID: "B1-2", X: 1.8, HeightMM: -8},
		{ID: "B1-3", X: 3.6, HeightMM: -12},
		{ID: "B1-4", X: 5.4, HeightMM: -10},
	}
	limit := levelling.Limit{Kind: levelling.PairLimit, OverM: 2, MM: 4, Rule: levelling.Flat}
	choices, err := levelling.Trade(points,
		levelling.Goal{Aim: levelling.AimHighest},
		levelling.Goal{Aim: levelling.AimLeast, MarginMM: 1, Limits: []levelling.Limit{limit}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range choices {
		fmt.Printf("%s: %g mm in all, %g at most, %d supports; set by %s, without it %g mm\n", c.Goal.Aim,
			c.Targets.TotalLift, c.Targets.GreatestLift, c.Targets.Touched, c.Targets.SetBy, c.Without.TotalLift)
	}
	for _, l := range choices[1].Targets.Chain {
		fmt.Printf("%s holds %s within %g mm\n", l.From, l.To, l.LimitMM)
	}
	// Output:
	// highest: 30 mm in all, 12 at most, 3 supports; set by B1-1, without it 6 mm
	// least: 12 mm in all, 6 at most, 3 supports; set by B1-1, without it 1 mm
	// B1-1 holds B1-2 within 3 mm
	// B1-2 holds B1-3 within 3 mm
}
