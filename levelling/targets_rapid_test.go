package levelling_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"relevel/levelling"
)

// tenths draws a number with one decimal.
func tenths(t *rapid.T, low, high int, label string) float64 {
	return float64(rapid.IntRange(low*10, high*10).Draw(t, label)) / 10
}

// drawFloor draws points on a small plan, so that some share a place, and a few
// limits of any kind.
func drawFloor(t *rapid.T) ([]aimPoint, goal) {
	points := make([]aimPoint, rapid.IntRange(1, 12).Draw(t, "points"))
	for i := range points {
		p := aimPoint{ID: fmt.Sprint("P", i), X: tenths(t, 0, 5, "x"), Y: tenths(t, 0, 5, "y"), HeightMM: tenths(t, -20, 20, "height")}
		switch rapid.IntRange(0, 9).Draw(t, "sort") {
		case 0:
			p.Fixed = true
		case 1:
			mm := tenths(t, 0, 20, "cap")
			p.MaxLift = &mm
		case 2, 3:
			p.MaxLower = tenths(t, 0, 20, "lowering")
		}
		points[i] = p
	}
	g := least(tenths(t, 0, 1, "margin"))
	for range rapid.IntRange(0, 3).Draw(t, "limits") {
		g.Limits = append(g.Limits, drawLimit(t))
	}
	return points, g
}

func drawLimit(t *rapid.T) levelling.Limit {
	over, mm := tenths(t, 1, 6, "over"), tenths(t, 2, 12, "limit")
	table := []levelling.LimitRow{{Metres: 1, MM: mm}, {Metres: 3, MM: tenths(t, 2, 12, "row")}, {Metres: 5, MM: tenths(t, 2, 12, "row")}}
	return rapid.SampledFrom([]levelling.Limit{
		overall(2 * mm),
		within(over, mm),
		{Kind: levelling.PairLimit, OverM: over, MM: mm, Rule: levelling.Proportional},
		{Kind: levelling.PairLimit, OverM: over, Rule: levelling.Bands, Table: table},
		{Kind: levelling.PairLimit, OverM: over, Rule: levelling.Linear, Table: table},
	}).Draw(t, "kind")
}

func targets(t *rapid.T, points []aimPoint, g goal) levelling.Targets {
	got, err := g.Targets(points)
	if err != nil {
		t.Fatal(err)
	}
	if got.Feasible != (got.Why == "") {
		t.Fatalf("feasible %v, why %q", got.Feasible, got.Why)
	}
	return got
}

// held reports whether a point may lie at a height beside the targets of the others.
func held(points []aimPoint, g goal, got levelling.Targets, at int, mm float64) bool {
	for j := range points {
		allowed, holds := allowance(points[at], points[j], g)
		if j != at && holds && math.Abs(mm-got.Points[j].MM) > allowed+1e-7 {
			return false
		}
	}
	return true
}

// Least meets every limit and everything agreed for a point; no lifted target
// can be lower and no lowered one higher.
func TestLeastMeetsAndIsLeast(t *testing.T) {
	const some = 0.001
	rapid.Check(t, func(t *rapid.T) {
		points, g := drawFloor(t)
		got := targets(t, points, g)
		for i, p := range points {
			mm, lift := got.Points[i].MM, got.Points[i].LiftMM
			low, high := p.HeightMM-p.MaxLower, math.Inf(1)
			if p.Fixed {
				low, high = p.HeightMM, p.HeightMM
			} else if p.MaxLift != nil {
				high = p.HeightMM + *p.MaxLift
			}
			switch {
			case !held(points, g, got, i, mm):
				t.Errorf("%s at %v breaks a limit", p.ID, mm)
			case mm < low-1e-9 || got.Feasible && mm > high+1e-6:
				t.Errorf("%s at %v is not within %v and %v", p.ID, mm, low, high)
			case lift > some && held(points, g, got, i, mm-some):
				t.Errorf("%s at %v is lifted more than it need be", p.ID, mm)
			case lift < -some && held(points, g, got, i, mm+some):
				t.Errorf("%s at %v is brought down more than it need be", p.ID, mm)
			}
		}
	})
}

// With all points a constant higher, so are all targets, by every aim.
func TestTargetsFollowHeights(t *testing.T) {
	near := cmpopts.EquateApprox(0, 1e-6)
	sentences := cmpopts.IgnoreFields(levelling.Targets{}, "Why", "SetBy", "Chain") // which of two that tie may change
	rapid.Check(t, func(t *rapid.T) {
		points, g := drawFloor(t)
		g.Aim = rapid.SampledFrom([]levelling.Aim{levelling.AimLevel, levelling.AimHighest, levelling.AimPlane, levelling.AimLeast}).Draw(t, "aim")
		g.SlopeX, g.HeightMM = tenths(t, -3, 3, "slope"), tenths(t, -5, 5, "level")
		want := targets(t, points, g)
		by := tenths(t, -500, 500, "by")
		for i := range points {
			points[i].HeightMM += by
			want.Points[i].MM += by
		}
		g.HeightMM += by
		if diff := cmp.Diff(want, targets(t, points, g), near, sentences); diff != "" {
			t.Errorf("%v higher (-want +got):\n%s", by, diff)
		}
	})
}

// The order of the points changes nothing, to the last bit.
func TestTargetsInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points, g := drawFloor(t)
		g.Aim = rapid.SampledFrom([]levelling.Aim{levelling.AimHighest, levelling.AimPlane, levelling.AimLeast}).Draw(t, "aim")
		want := targets(t, points, g)
		got := targets(t, rapid.Permutation(points).Draw(t, "order"), g)
		byID := cmpopts.SortSlices(func(a, b levelling.Target) bool { return a.ID < b.ID })
		if diff := cmp.Diff(want, got, byID); diff != "" {
			t.Errorf("in another order (-want +got):\n%s", diff)
		}
	})
}

// One limit more never lowers a target where nothing may come down, and never
// saves lift where something may.
func TestLeastWithOneLimitMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points, g := drawFloor(t)
		down := rapid.Bool().Draw(t, "lowering")
		for i := range points {
			if !down {
				points[i].MaxLower = 0
			}
		}
		before := targets(t, points, g)
		limit := drawLimit(t)
		g.Limits = append(g.Limits[:len(g.Limits):len(g.Limits)], limit)
		after := targets(t, points, g)
		for i := range points {
			b, a := before.Points[i], after.Points[i]
			if math.Max(0, a.LiftMM) < math.Max(0, b.LiftMM)-1e-9 || !down && a.MM < b.MM-1e-9 {
				t.Errorf("%s goes to %v, and under one limit more to %v", a.ID, b.MM, a.MM)
			}
		}
		if after.Feasible && !before.Feasible {
			t.Errorf("one limit more makes it feasible; before: %s", before.Why)
		}
	})
}

// The chain explains its end: from where it begins, less its limits.
func TestChainAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points, g := drawFloor(t)
		got := targets(t, points, g)
		if len(got.Chain) == 0 {
			return
		}
		mm := make(map[string]float64)
		low := make(map[string]float64)
		for i, p := range points {
			mm[p.ID], low[p.ID] = got.Points[i].MM, p.HeightMM
			if !p.Fixed {
				low[p.ID] -= p.MaxLower
			}
		}
		at := low[got.Chain[0].From]
		for _, l := range got.Chain {
			at -= l.LimitMM
		}
		end := got.Chain[len(got.Chain)-1].To
		if math.Abs(at-mm[end]) > 1e-9 {
			t.Errorf("the chain ends at %v, the target of %s is %v", at, end, mm[end])
		}
	})
}
