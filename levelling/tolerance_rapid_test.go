package levelling_test

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"relevel/levelling"
)

// anyFloor is a floor on a grid of 0.25 m with heights in eighths of a mm, so
// that distances and heights often meet a limit exactly.
func anyFloor(t *rapid.T) []levelPoint {
	n := rapid.IntRange(2, 9).Draw(t, "n")
	points := make([]levelPoint, n)
	for i := range points {
		points[i] = levelPoint{
			ID: fmt.Sprint("p", i),
			X:  0.25 * float64(rapid.IntRange(0, 40).Draw(t, "x")),
			Y:  0.25 * float64(rapid.IntRange(0, 8).Draw(t, "y")),
			Height: height{
				MM: float64(rapid.IntRange(-120, 120).Draw(t, "eighths")) / 8,
				SD: float64(rapid.IntRange(0, 4).Draw(t, "sd")) / 4,
			},
		}
	}
	return points
}

func anyProfile(t *rapid.T) levelling.Profile {
	scaled := levelling.Limit{Kind: levelling.PairLimit, OverM: 3, MM: 7, Rule: levelling.Proportional}
	all := append(levelling.Profiles(), own(flatLimit(4, 2), scaled, levelling.Limit{Kind: levelling.RangeLimit, MM: 12}))
	return rapid.SampledFrom(all).Draw(t, "profile")
}

// How high the datum is said to be changes nothing.
func TestJudgeAnyDatum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, points := anyProfile(t), anyFloor(t)
		before := judge(t, p, points)
		by := float64(rapid.IntRange(-1e6, 1e6).Draw(t, "by"))
		for i := range points {
			points[i].Height.MM += by
		}
		if diff := cmp.Diff(before, judge(t, p, points), near); diff != "" {
			t.Errorf("%s with %v on all heights (-before +after):\n%s", p.Name, by, diff)
		}
	})
}

// A floor turned upside down is as level as before.
func TestJudgeUpsideDown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, points := anyProfile(t), anyFloor(t)
		before := judge(t, p, points)
		for i := range points {
			points[i].Height.MM *= -1
		}
		if diff := cmp.Diff(before, judge(t, p, points)); diff != "" {
			t.Errorf("%s upside down (-before +after):\n%s", p.Name, diff)
		}
	})
}

// The order in which points are given changes nothing but the order in which a
// check names two of them.
func TestJudgeAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, points := anyProfile(t), anyFloor(t)
		before := inOneOrder(judge(t, p, points))
		after := inOneOrder(judge(t, p, rapid.Permutation(points).Draw(t, "order")))
		if diff := cmp.Diff(before, after); diff != "" {
			t.Errorf("%s in another order (-before +after):\n%s", p.Name, diff)
		}
	})
}

func inOneOrder(j levelling.Judgement) levelling.Judgement {
	for i, c := range j.Checks {
		j.Checks[i].Between = [2]string{min(c.Between[0], c.Between[1]), max(c.Between[0], c.Between[1])}
	}
	return j
}

// certainty is how much a verdict claims to know.
func certainty(v levelling.Verdict) int {
	switch v {
	case levelling.TooClose:
		return 0
	case levelling.ReadAgain:
		return 1
	}
	return 2
}

// Poorer readings never make a verdict more certain, and never another one.
func TestJudgePoorerReadings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, points := anyProfile(t), anyFloor(t)
		before := judge(t, p, points)
		for i := range points {
			points[i].Height.SD += float64(rapid.IntRange(0, 8).Draw(t, "more")) / 8
		}
		after := judge(t, p, points)
		poorer(t, before.Verdict, after.Verdict)
		for i := range after.Checks {
			poorer(t, before.Checks[i].Verdict, after.Checks[i].Verdict)
		}
	})
}

func poorer(t *rapid.T, before, after levelling.Verdict) {
	if certainty(after) > certainty(before) || (certainty(after) == 2 && after != before) {
		t.Errorf("%s became %s by poorer readings", before, after)
	}
}

// Exact heights always get a verdict, and it says whether the limit is met.
func TestJudgeExactHeights(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, points := anyProfile(t), anyFloor(t)
		for i := range points {
			points[i].Height.SD = 0
		}
		for _, c := range judge(t, p, points).Checks {
			met := c.FoundMM <= c.LimitMM*(1+1e-9)
			if certainty(c.Verdict) != 2 || met != (c.Verdict == levelling.Within || c.Verdict == levelling.NotIndicated) {
				t.Errorf("%s: %+v", p.Name, c)
			}
		}
	})
}
