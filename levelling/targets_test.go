package levelling_test

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"relevel/levelling"
)

// Short names for the tables of this package's tests of targets.
type (
	aimPoint = levelling.AimPoint
	goal     = levelling.Goal
	link     = levelling.Link
)

// bearer puts points 1.8 m apart in a line, named A, B, C and so on.
func bearer(heights ...float64) []aimPoint {
	points := make([]aimPoint, len(heights))
	for i, h := range heights {
		points[i] = aimPoint{ID: string(rune('A' + i)), X: 1.8 * float64(i), HeightMM: h}
	}
	return points
}

// with changes one point of a list.
func with(points []aimPoint, at int, change func(*aimPoint)) []aimPoint {
	change(&points[at])
	return points
}

func fixed(p *aimPoint) { p.Fixed = true }

func maxLift(mm float64) func(*aimPoint) { return func(p *aimPoint) { p.MaxLift = &mm } }

func maxLower(mm float64) func(*aimPoint) { return func(p *aimPoint) { p.MaxLower = mm } }

// within limits pairs up to so many metres apart to so many mm.
func within(metres, mm float64) levelling.Limit {
	return levelling.Limit{Kind: levelling.PairLimit, OverM: metres, MM: mm, Rule: levelling.Flat}
}

func overall(mm float64) levelling.Limit {
	return levelling.Limit{Kind: levelling.RangeLimit, MM: mm}
}

func least(margin float64, limits ...levelling.Limit) goal {
	return goal{Aim: levelling.AimLeast, MarginMM: margin, Limits: limits}
}

// targetCase is a floor, a goal, and what comes of it, all reckoned by hand.
type targetCase struct {
	name   string
	points []aimPoint
	goal   goal
	mm     []float64
	setBy  string
	why    string
}

func (c targetCase) run(t *testing.T) {
	got, err := c.goal.Targets(c.points)
	if err != nil {
		t.Fatal(err)
	}
	want := levelling.Targets{SetBy: c.setBy, Why: c.why, Feasible: c.why == ""}
	for i, p := range c.points {
		lift := c.mm[i] - p.HeightMM
		want.Points = append(want.Points, levelling.Target{ID: p.ID, MM: c.mm[i], LiftMM: lift})
		want.TotalLift += math.Max(0, lift)
		want.TotalLower += math.Max(0, -lift)
		want.GreatestLift = math.Max(want.GreatestLift, lift)
		if lift != 0 {
			want.Touched++
		}
	}
	near := cmpopts.EquateApprox(0, 1e-9)
	if diff := cmp.Diff(want, got, near, cmpopts.IgnoreFields(levelling.Targets{}, "Chain")); diff != "" {
		t.Errorf("targets (-want +got):\n%s", diff)
	}
}

func runTargets(t *testing.T, cases []targetCase) {
	t.Helper()
	for _, c := range cases {
		t.Run(c.name, c.run)
	}
}

func TestTargetsFacing(t *testing.T) {
	level := func(mm float64, limits ...levelling.Limit) goal {
		return goal{Aim: levelling.AimLevel, HeightMM: mm, Limits: limits}
	}
	highest := goal{Aim: levelling.AimHighest}
	slope := goal{Aim: levelling.AimPlane, SlopeX: 2}
	runTargets(t, []targetCase{
		{name: "level", points: bearer(-3, 0, -12), goal: level(0), mm: []float64{0, 0, 0}},
		{name: "level leaves what is above", points: bearer(-3, 4), goal: level(0), mm: []float64{0, 4}},
		{name: "level brings down as agreed", points: with(bearer(-3, 4), 1, maxLower(9)), goal: level(0), mm: []float64{0, 0}},
		{name: "level brings down no further", points: with(bearer(-3, 4), 1, maxLower(1)), goal: level(0), mm: []float64{0, 3}},
		{name: "level leaves what is fixed", points: with(bearer(-3, -4), 1, fixed), goal: level(0), mm: []float64{0, -4}},
		{name: "level and fixed above", points: with(with(bearer(-3, 4), 1, fixed), 1, maxLower(9)), goal: level(0), mm: []float64{0, 4}},
		{name: "level past a cap", points: with(bearer(-3, -4), 1, maxLift(3)), goal: level(0), mm: []float64{0, 0},
			why: "B may come up 3 mm at most and would have to come up 4 mm"},
		{name: "level up to a cap", points: with(bearer(-3, -4.3), 1, maxLift(4.3)), goal: level(0), mm: []float64{0, 0}},
		{name: "level and a limit", points: bearer(-3, 4, 9), goal: level(0, within(2, 4), overall(9)), mm: []float64{0, 4, 9},
			why: "C would stand at 9 mm and B at 4 mm: C and B, 1.8 m apart, may differ by 4 mm"},
		{name: "level and a range", points: bearer(-3, 4, 9), goal: level(0, overall(8.5)), mm: []float64{0, 4, 9},
			why: "C would stand at 9 mm and A at 0 mm: C and A may differ by 8.5 mm as any two may"},
		{name: "highest", points: bearer(-3, 1.5, -12), goal: highest, mm: []float64{1.5, 1.5, 1.5}, setBy: "B"},
		{name: "highest is fixed", points: with(bearer(-3, 1.5), 1, fixed), goal: highest, mm: []float64{1.5, 1.5}, setBy: "B"},
		{name: "highest brings nothing down", points: with(bearer(-3, 1.5), 1, maxLower(9)), goal: highest, mm: []float64{1.5, 1.5}, setBy: "B"},
		{name: "highest of two", points: bearer(-3, 1.5, 1.5), goal: highest, mm: []float64{1.5, 1.5, 1.5}, setBy: "B"},
		{name: "plane", points: bearer(0, 1, 9), goal: slope, mm: []float64{1.8, 5.4, 9}, setBy: "C"},
		{name: "plane of no slope", points: bearer(0, 1, 9), goal: goal{Aim: levelling.AimPlane}, mm: []float64{9, 9, 9}, setBy: "C"},
		{name: "one point", points: bearer(-7), goal: highest, mm: []float64{-7}, setBy: "A"},
	})
}

// The margin comes off the limits that are only checked as well.
func TestTargetsFacingMargin(t *testing.T) {
	g := goal{Aim: levelling.AimLevel, MarginMM: 0.5, Limits: []levelling.Limit{within(2, 4)}}
	runTargets(t, []targetCase{
		{name: "less", points: bearer(0, 3.5), goal: g, mm: []float64{0, 3.5}},
		{name: "more", points: bearer(0, 3.6), goal: g, mm: []float64{0, 3.6},
			why: "B would stand at 3.6 mm and A at 0 mm: B and A, 1.8 m apart, may differ by 3.5 mm (less the margin of 0.5 mm)"},
	})
}

func TestTargetsBadInput(t *testing.T) {
	level := goal{Aim: levelling.AimLevel}
	tests := []struct {
		name, field string
		points      []aimPoint
		goal        goal
	}{
		{"no points", "points", nil, level},
		{"no aim", "aim", bearer(1), goal{}},
		{"height", "height_mm", bearer(1), goal{Aim: levelling.AimLevel, HeightMM: math.NaN()}},
		{"slope x", "plane.x_mm_per_m", bearer(1), goal{Aim: levelling.AimPlane, SlopeX: math.Inf(1)}},
		{"slope y", "plane.y_mm_per_m", bearer(1), goal{Aim: levelling.AimPlane, SlopeY: math.NaN()}},
		{"slope out of bounds", "plane", bearer(1, 1), goal{Aim: levelling.AimPlane, SlopeX: 1.7e308}},
		{"margin below 0", "margin_mm", bearer(1), least(-1)},
		{"limit at the margin", "limits[1].limit_mm", bearer(1), least(4, within(2, 5), within(2, 4))},
		{"range at the margin", "limits[0].limit_mm", bearer(1), least(4, overall(4))},
		{"no name", "points[0].id", []aimPoint{{}}, level},
		{"a name twice", "points[2].id", append(bearer(1, 2), aimPoint{ID: "A"}), level},
		{"x", "points[1].x_m", with(bearer(1, 2), 1, func(p *aimPoint) { p.X = math.NaN() }), level},
		{"y", "points[1].y_m", with(bearer(1, 2), 1, func(p *aimPoint) { p.Y = math.Inf(-1) }), level},
		{"a height", "points[1].height_mm", bearer(1, math.NaN()), level},
		{"cap below 0", "points[1].max_lift_mm", with(bearer(1, 2), 1, maxLift(-1)), level},
		{"lowering below 0", "points[1].max_lower_mm", with(bearer(1, 2), 1, maxLower(-1)), level},
		{"a lift out of bounds", "points", bearer(1.7e308, -1.7e308), goal{Aim: levelling.AimHighest}},
		{"a total out of bounds", "points", bearer(1e308, 0, 0), goal{Aim: levelling.AimHighest}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := tt.goal.Targets(tt.points)
			wantInputError(t, err, tt.field)
			if len(got.Points) > 0 {
				t.Errorf("targets beside an error: %v", got)
			}
		})
	}
}

// A name that would break the sentence is quoted in it.
func TestTargetsWhyIsOneLine(t *testing.T) {
	points := []aimPoint{{ID: "a\nb", HeightMM: -3, MaxLift: new(float64)}}
	got, err := goal{Aim: levelling.AimLevel}.Targets(points)
	if err != nil || strings.Contains(got.Why, "\n") || !strings.HasPrefix(got.Why, `"a\nb" may come up 0 mm`) {
		t.Errorf("why %q, %v", got.Why, err)
	}
}
