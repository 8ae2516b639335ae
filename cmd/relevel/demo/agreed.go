package demo

import (
	"relevel/events"
	"relevel/levelling"
)

// LevelEnough is what the invented owners agree to: no two places within 2 m
// more than 6 mm apart, no room more than 12 mm from end to end, and every
// support so close to its target.
func LevelEnough(withinMM float64) events.Tolerance {
	return events.Tolerance{
		WithinMM: withinMM, Source: "agreed with the owner",
		Limits: []events.Limit{
			{Kind: levelling.PairLimit, OverM: 2, LimitMM: 6, Rule: levelling.Flat},
			{Kind: levelling.RangeLimit, LimitMM: 12},
		},
	}
}
