package levelling_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"relevel/levelling"
)

func TestTargetsLeast(t *testing.T) {
	proportional := levelling.Limit{Kind: levelling.PairLimit, OverM: 3.6, MM: 8, Rule: levelling.Proportional}
	bands := levelling.Limit{Kind: levelling.PairLimit, OverM: 4, Rule: levelling.Bands, Table: []levelling.LimitRow{{Metres: 1, MM: 1}, {Metres: 2, MM: 5}, {Metres: 4, MM: 3}}}
	linear := levelling.Limit{Kind: levelling.PairLimit, OverM: 4, Rule: levelling.Linear, Table: []levelling.LimitRow{{Metres: 0.8, MM: 1}, {Metres: 2.8, MM: 5}, {Metres: 4, MM: 11}}}
	runTargets(t, []targetCase{
		{name: "level enough", points: bearer(10, 7, 4), goal: least(0, within(2, 4)), mm: []float64{10, 7, 4}},
		{name: "a chain", points: bearer(10, 0, 0), goal: least(0, within(2, 4)), mm: []float64{10, 6, 2}, setBy: "A"},
		{name: "a margin", points: bearer(10, 0, 0), goal: least(0.5, within(2, 4)), mm: []float64{10, 6.5, 3}, setBy: "A"},
		{name: "from both ends", points: bearer(10, 0, 9.5), goal: least(0, within(2, 4)), mm: []float64{10, 6, 9.5}, setBy: "A"},
		{name: "a point above the chain ends it", points: bearer(10, 8, 0), goal: least(0, within(2, 4)), mm: []float64{10, 8, 4}, setBy: "B"},
		{name: "out of reach", points: bearer(10, 0, 0), goal: least(0, within(1.79, 4)), mm: []float64{10, 0, 0}},
		{name: "just in reach", points: bearer(10, 0, 0), goal: least(0, within(1.8, 4)), mm: []float64{10, 6, 2}, setBy: "A"},
		{name: "the smallest limit counts", points: bearer(10, 0, 0), goal: least(0, within(4, 5), within(2, 4), within(4, 6)), mm: []float64{10, 6, 5}, setBy: "A"},
		{name: "proportional", points: bearer(10, 0, 0), goal: least(0, proportional), mm: []float64{10, 6, 2}, setBy: "A"},
		// At 1.8 m 5 mm, at 3.6 m only 3.
		{name: "bands that fall with the distance", points: bearer(10, 0, 0), goal: least(0, bands), mm: []float64{10, 5, 7}, setBy: "A"},
		// At 1.8 m 3 mm, at 3.6 m 9, so that the way over B is the shorter.
		{name: "linear", points: bearer(10, 0, 0), goal: least(0, linear), mm: []float64{10, 7, 4}, setBy: "A"},
		{name: "a range", points: bearer(10, 0, 7), goal: least(0, overall(5)), mm: []float64{10, 5, 7}, setBy: "A"},
		{name: "a range less a margin", points: bearer(10, 0, 7), goal: least(1, overall(5), overall(9)), mm: []float64{10, 6, 7}, setBy: "A"},
		{name: "a range and pairs", points: bearer(10, 0, 0), goal: least(0, overall(5), within(2, 4)), mm: []float64{10, 6, 5}, setBy: "A"},
		{name: "fixed where it needs not move", points: with(bearer(10, 6, 0), 1, fixed), goal: least(0, within(2, 4)), mm: []float64{10, 6, 2}, setBy: "B"},
		// 10.3 − 4 is a little above 6.3 as numbers are kept.
		{name: "fixed on the limit", points: with(with(bearer(10.3, 6.3), 0, fixed), 1, fixed), goal: least(0, within(2, 4)), mm: []float64{10.3, 6.3}},
		{name: "up to a cap", points: with(bearer(10, 0, 0), 2, maxLift(2)), goal: least(0, within(2, 4)), mm: []float64{10, 6, 2}, setBy: "A"},
		{name: "who lifts more in all", points: bearer(10, 0, 0, -40, -37, -31), goal: least(0, within(2, 4)), mm: []float64{10, 6, 2, -2, -6, -10}, setBy: "A"},
	})
}

func TestTargetsLeastLowering(t *testing.T) {
	pair := within(2, 4)
	down := with(with(bearer(10, 0, 0), 0, maxLower(20)), 0, fixed)
	runTargets(t, []targetCase{
		{name: "instead of lifting", points: with(bearer(10, 0, 0), 0, maxLower(20)), goal: least(0, pair), mm: []float64{4, 0, 0}},
		{name: "as far as agreed", points: with(bearer(10, 0, 0), 0, maxLower(5)), goal: least(0, pair), mm: []float64{5, 1, 0}, setBy: "A"},
		{name: "not where it saves nothing", points: with(bearer(10, 0, 9), 2, maxLower(20)), goal: least(0, pair), mm: []float64{10, 6, 9}, setBy: "A"},
		{name: "not what is fixed", points: down, goal: least(0, pair), mm: []float64{10, 6, 2}, setBy: "A"},
		{name: "two beside a low one", points: with(with(bearer(9, 0, 12), 0, maxLower(20)), 2, maxLower(20)), goal: least(0, pair), mm: []float64{4, 0, 4}},
		{name: "for a range", points: with(bearer(10, 0, 3), 0, maxLower(20)), goal: least(0, overall(6)), mm: []float64{6, 0, 3}},
	})
}

func TestTargetsLeastInfeasible(t *testing.T) {
	pair := within(2, 4)
	runTargets(t, []targetCase{
		{name: "two fixed", points: with(with(bearer(10, 5.5), 0, fixed), 1, fixed), goal: least(0, pair), mm: []float64{10, 6}, setBy: "A",
			why: "B is fixed at 5.5 mm and would have to come up to 6 mm: A is fixed at 10 mm, A and B, 1.8 m apart, may differ by 4 mm"},
		{name: "a cap at the end of a chain", points: with(bearer(10, 0, 0), 2, maxLift(1)), goal: least(0.5, pair), mm: []float64{10, 6.5, 3}, setBy: "A",
			why: "C may come up 1 mm at most and would have to come up 3 mm: A stands at 10 mm, " +
				"A and B, 1.8 m apart, may differ by 3.5 mm, B and C, 1.8 m apart, may differ by 3.5 mm (less the margin of 0.5 mm)"},
		{name: "in spite of lowering", points: with(with(bearer(10, 0), 0, maxLower(2)), 1, fixed), goal: least(0, pair), mm: []float64{8, 4}, setBy: "A",
			why: "B is fixed at 0 mm and would have to come up to 4 mm: A may come down to 8 mm at most, A and B, 1.8 m apart, may differ by 4 mm"},
		{name: "by a range", points: with(bearer(10, 0), 1, maxLift(0)), goal: least(0, overall(6)), mm: []float64{10, 4}, setBy: "A",
			why: "B may come up 0 mm at most and would have to come up 4 mm: A stands at 10 mm, A and B may differ by 6 mm as any two may"},
		{name: "the worst of two", points: with(with(bearer(10, 0, 0), 1, fixed), 2, fixed), goal: least(0, pair), mm: []float64{10, 6, 2}, setBy: "A",
			why: "B is fixed at 0 mm and would have to come up to 6 mm: A stands at 10 mm, A and B, 1.8 m apart, may differ by 4 mm"},
	})
}

func TestTargetsLeastDegenerate(t *testing.T) {
	pile := []aimPoint{{ID: "A", HeightMM: 5}, {ID: "B"}, {ID: "C", X: 0.3}}
	proportional := levelling.Limit{Kind: levelling.PairLimit, OverM: 3, MM: 6, Rule: levelling.Proportional}
	all := bearer(10, 0, 3)
	for i := range all {
		all[i].Fixed = true
	}
	runTargets(t, []targetCase{
		{name: "one point", points: bearer(-7), goal: least(0, within(2, 4), overall(1)), mm: []float64{-7}},
		{name: "no limits", points: bearer(10, 0, 3), goal: least(0), mm: []float64{10, 0, 3}},
		{name: "no limits and a margin", points: bearer(10, 0, 3), goal: least(2), mm: []float64{10, 0, 3}},
		{name: "all fixed, no limits", points: all, goal: least(0), mm: []float64{10, 0, 3}},
		{name: "all fixed within a limit", points: all, goal: least(0, overall(10)), mm: []float64{10, 0, 3}},
		{name: "in one place", points: pile[:2], goal: least(0, within(2, 4)), mm: []float64{5, 1}, setBy: "A"},
		// In one place a proportional limit leaves nothing; at 0.3 m 0.6 mm, which a
		// margin of 1 mm uses up.
		{name: "in one place, proportional", points: pile, goal: least(0, proportional), mm: []float64{5, 5, 4.4}, setBy: "A"},
		{name: "close together, proportional, a margin", points: pile, goal: least(1, proportional), mm: []float64{5, 5, 5}, setBy: "A"},
		{name: "very far and very high", points: []aimPoint{{ID: "A", X: -1e300, HeightMM: 1e300}, {ID: "B", X: 1e300}}, goal: least(0, within(2, 4), overall(1e299)), mm: []float64{1e300, 9e299}, setBy: "A"},
		{name: "lowering without end", points: with(bearer(10, -1e308), 0, maxLower(1.7e308)), goal: least(0, within(1e300, 1.7e308)), mm: []float64{10, -1e308}},
	})
}

func TestChain(t *testing.T) {
	pair := within(2, 4)
	one := link{From: "A", To: "B", Kind: levelling.PairLimit, LimitMM: 3.5, DistanceM: 1.8}
	two := link{From: "B", To: "C", Kind: levelling.PairLimit, LimitMM: 3.5, DistanceM: 1.8}
	any := link{From: "A", To: "C", Kind: levelling.RangeLimit, LimitMM: 4.5, DistanceM: 3.6}
	tests := []struct {
		name   string
		points []aimPoint
		goal   goal
		want   []link
	}{
		{"to the most lifted", bearer(10, 0, 0), least(0.5, pair), []link{one}},
		{"further on", bearer(10, 6, -5), least(0.5, pair), []link{one, two}},
		{"by the range", bearer(10, 6, -5), least(0.5, pair, overall(5)), []link{any}},
		{"to the one that is blocked", with(bearer(10, 0, 0), 2, maxLift(1)), least(0.5, pair), []link{one, two}},
		{"nothing is forced", bearer(10, 8, 7), least(0.5, pair), nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := tt.goal.Targets(tt.points)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, got.Chain, cmpopts.EquateApprox(0, 1e-9)); diff != "" {
				t.Errorf("chain (-want +got):\n%s", diff)
			}
		})
	}
}

func TestTrade(t *testing.T) {
	points := bearer(10, 0, 2)
	choices, err := levelling.Trade(points, goal{Aim: levelling.AimLevel, HeightMM: 2}, goal{Aim: levelling.AimHighest}, least(0, within(2, 4)))
	if err != nil {
		t.Fatal(err)
	}
	type row struct {
		setBy          string
		total, without float64
		touched        int
	}
	var got []row
	for _, c := range choices {
		r := row{setBy: c.Targets.SetBy, total: c.Targets.TotalLift, touched: c.Targets.Touched, without: -1}
		if c.Without != nil {
			r.without = c.Without.TotalLift
		}
		got = append(got, r)
	}
	want := []row{{"", 2, -1, 1}, {"A", 18, 2, 2}, {"A", 6, 0, 1}}
	if diff := cmp.Diff(want, got, cmp.AllowUnexported(row{})); diff != "" {
		t.Errorf("trade (-want +got):\n%s", diff)
	}
	if alone, err := levelling.Trade(bearer(3), goal{Aim: levelling.AimHighest}); err != nil || alone[0].Without != nil {
		t.Errorf("a floor of one point: %v, %v", alone, err)
	}
	_, err = levelling.Trade(points, goal{Aim: "lowest"})
	wantInputError(t, err, "aim")
}
