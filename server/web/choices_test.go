package web

import (
	"slices"
	"testing"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// The chain is said as one would say it on site: who stands, what each limit
// allows, and how far the last one therefore comes up.
func TestChainWords(t *testing.T) {
	pair := []levelling.Link{{From: "B1-1", To: "B1-2", Kind: levelling.PairLimit, LimitMM: 4, DistanceM: 1.8}, {From: "B1-2", To: "B1-3", Kind: levelling.PairLimit, LimitMM: 4.5, DistanceM: 2}}
	lifts := []levelling.Target{{ID: "B1-1"}, {ID: "B1-2", LiftMM: 8}, {ID: "B1-3", LiftMM: 11.5}, {ID: "B2-1", LiftMM: -3}}
	tests := map[string]struct {
		line ChoiceLine
		want string
	}{
		"None": {ChoiceLine{}, ""},
		"Pairs": {ChoiceLine{Choice: jobs.Choice{Chain: pair, Lifts: lifts}},
			"B1-1 stays; B1-2 may lie at most 4 mm below B1-1 (1.8 m); B1-3 may lie at most 4.5 mm below B1-2 (2 m); so B1-3 comes up 11.5 mm."},
		"Range": {ChoiceLine{Choice: jobs.Choice{Chain: []levelling.Link{{From: "B2-1", To: "B1-3", Kind: levelling.RangeLimit, LimitMM: 10, DistanceM: 4}}, Lifts: lifts}},
			"B2-1 comes down 3 mm; B1-3 may lie at most 10 mm below B2-1 (highest to lowest); so B1-3 comes up 11.5 mm."},
		"Margin": {ChoiceLine{MarginMM: 1, Choice: jobs.Choice{Chain: pair[:1], Lifts: lifts}},
			"B1-1 stays; B1-2 may lie at most 4 mm below B1-1 (1.8 m), the margin off; so B1-2 comes up 8 mm."},
		"CannotBeMet": {ChoiceLine{Choice: jobs.Choice{Why: "B1-2 may come up 2 at most", Chain: pair[:1], Lifts: lifts}},
			"B1-1 stays; B1-2 may lie at most 4 mm below B1-1 (1.8 m); so B1-2 would have to come up 8 mm."},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			if got := test.line.ChainWords(levelling.Millimetre); got != test.want {
				t.Errorf("got  %s\nwant %s", got, test.want)
			}
		})
	}
}

// Nobody reads a staff to a thousandth.
func TestTenths(t *testing.T) {
	for given, want := range map[string]string{
		"B4-4 may come up 2 mm at most and would have to come up 10.799 mm": "B4-4 may come up 2 mm at most and would have to come up 10.8 mm",
		"B3-4 stands at -2.758 mm, 1.8 m apart, may differ by 2.96 mm":      "B3-4 stands at -2.8 mm, 1.8 m apart, may differ by 3 mm",
		"nothing": "nothing",
	} {
		if got := (lengths{levelling.Millimetre}).tenths(given); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// Each profile has one line whatever the choices are, and a choice that cannot
// be met promises nothing.
func TestProfileLines(t *testing.T) {
	after := func(one, other levelling.Verdict) []jobs.AfterVerdict {
		return []jobs.AfterVerdict{{Profile: "", Title: "the limits agreed", Source: "at the kitchen table", Verdict: one}, {Profile: "nahb", Title: "NAHB", Source: "4th ed.", Verdict: other}}
	}
	lines := ProfileLines([]ChoiceLine{
		{Choice: jobs.Choice{Aim: events.AimHighest, After: after(levelling.Within, levelling.Within)}},
		{Choice: jobs.Choice{Aim: events.AimLeast, After: after(levelling.Within, levelling.TooClose)}},
		{Choice: jobs.Choice{Aim: events.AimLeast, Why: "a margin leaves nothing", After: after("", "")}},
		{Choice: jobs.Choice{Aim: events.AimPlane, After: after(levelling.Outside, levelling.Indicated)}},
	})
	want := [][]Cell{
		{{"within", false}, {"within", false}, {"cannot be met", false}, {"outside", true}},
		{{"within", false}, {"too close to tell", false}, {"cannot be met", false}, {"indicated", true}},
	}
	if len(lines) != len(want) {
		t.Fatalf("%d lines, want one a profile", len(lines))
	}
	for i, l := range lines {
		if !slices.Equal(l.Verdicts, want[i]) || l.Source == "" {
			t.Errorf("%s: %v, want %v", l.Title, l.Verdicts, want[i])
		}
	}
}
