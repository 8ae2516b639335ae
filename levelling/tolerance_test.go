package levelling_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/levelling"
)

// own is a profile of limits as agreed.
func own(limits ...levelling.Limit) levelling.Profile { return levelling.OwnLimits(limits) }

func flatLimit(mm, overM float64) levelling.Limit {
	return levelling.Limit{Kind: levelling.PairLimit, OverM: overM, MM: mm, Rule: levelling.Flat}
}

// The guard band of JCGM 106:2012 at its edges (computed): sds 3 and 4 make 5, so
// g is 8.225 and with one more reading of each 5.816, about a limit of 20.
func TestGuardBand(t *testing.T) {
	const g, halved = 8.225, 8.225 / math.Sqrt2
	tests := []struct {
		found    float64
		verdict  levelling.Verdict
		readings int
	}{
		{0, levelling.Within, 0},
		{20 - g, levelling.Within, 0},
		{20 - g + 0.001, levelling.ReadAgain, 0},
		{20 - halved, levelling.ReadAgain, 0},
		{20 - halved + 0.001, levelling.TooClose, 3},
		{18, levelling.TooClose, 17}, // (8.225 / 2)² = 16.9
		{19.9, levelling.TooClose, 0},
		{20, levelling.TooClose, 0}, // none ever: a straightedge
		{22, levelling.TooClose, 17},
		{20 + halved, levelling.TooClose, 3},
		{20 + halved + 0.001, levelling.ReadAgain, 0},
		{20 + g, levelling.ReadAgain, 0},
		{20 + g + 0.001, levelling.Outside, 0},
	}
	for _, tt := range tests {
		points := along(0, 0, 2, tt.found)
		points[0].Height.SD, points[1].Height.SD = 3, 4
		c := judge(t, own(flatLimit(20, 2)), points).Checks[0]
		if c.Verdict != tt.verdict || c.Readings != tt.readings {
			t.Errorf("%v mm: %s with %d readings, want %s with %d", tt.found, c.Verdict, c.Readings, tt.verdict, tt.readings)
		}
	}
}

// As many readings as are asked for tell, and one fewer does not.
func TestReadingsTell(t *testing.T) {
	for _, found := range []float64{15.3, 17, 18.5, 20.7, 21, 24} {
		read := func(times int) levelling.Check {
			points := along(0, 0, 2, found)
			for i := range points {
				points[i].Height.SD = 4 / math.Sqrt(float64(times))
			}
			return judge(t, own(flatLimit(20, 2)), points).Checks[0]
		}
		need := read(1).Readings
		if need < 2 {
			t.Fatalf("%v mm: %+v, want some readings", found, read(1))
		}
		if v := read(need).Verdict; v != levelling.Within && v != levelling.Outside {
			t.Errorf("%v mm: %s after %d readings", found, v, need)
		}
		if v := read(need - 1).Verdict; v == levelling.Within || v == levelling.Outside {
			t.Errorf("%v mm: %s after %d readings, one fewer than asked for", found, v, need-1)
		}
	}
}

// Without standard deviations a limit is met exactly, whatever rounding does to
// the positions and heights that people type.
func TestExactAtTheLimit(t *testing.T) {
	for k := range 200 {
		x, h := 0.1*float64(k), 0.1*float64(k)
		for _, base := range []float64{0, 437596.1} {
			points := []levelPoint{
				{ID: "a", X: x, Height: height{MM: base + h}},
				{ID: "b", X: x + 0.2, Height: height{MM: base + h + 0.4}},
			}
			scaled := levelling.Limit{Kind: levelling.PairLimit, OverM: 2, MM: 4, Rule: levelling.Proportional}
			for _, l := range []levelling.Limit{flatLimit(0.4, 0.2), scaled, {Kind: levelling.RangeLimit, MM: 0.4}} {
				if j := judge(t, own(l), points); j.Verdict != levelling.Within || !j.Checks[0].Applies {
					t.Fatalf("%v of %v: %+v, want within", l, points, j)
				}
			}
			points[1].Height.MM += 0.0001
			if j := judge(t, own(flatLimit(0.4, 0.2)), points); j.Verdict != levelling.Outside {
				t.Fatalf("%v: %+v, want outside", points, j)
			}
		}
	}
}

// The check shows the points that decide, in the order they were given.
func TestDecidingPair(t *testing.T) {
	scaled := levelling.Limit{Kind: levelling.PairLimit, OverM: 10, MM: 10, Rule: levelling.Proportional}
	doubtful := along(0, 0, 1, 9, 2, 0)
	doubtful[2].Height.SD = 3
	tests := []struct {
		name    string
		limit   levelling.Limit
		points  []levelPoint
		between [2]string
		found   float64
		verdict levelling.Verdict
	}{
		{"the steepest, not the greatest", scaled, along(0, 0, 1, 0.9, 10, 8), [2]string{"a", "b"}, 0.9, levelling.Within},
		{"of one slope the longest", scaled, along(0, 0, 1, 0.5, 2, 1, 3, 1.5), [2]string{"a", "d"}, 1.5, levelling.Within},
		{"the highest and the lowest", levelling.Limit{Kind: levelling.RangeLimit, MM: 9}, along(0, 3, 1, 8, 2, -1, 3, 7), [2]string{"b", "c"}, 9, levelling.Within},
		// 9 to c may be 10 and more; the exact 9 from a to b is not.
		{"the one in doubt before the greater", flatLimit(10, 2), append(doubtful, levelPoint{ID: "d", X: 1, Y: 1, Height: height{MM: -0.5}}), [2]string{"b", "c"}, 9, levelling.TooClose},
		{"none so near", flatLimit(10, 0.5), along(0, 0, 1, 99), [2]string{}, 0, levelling.Within},
		{"one place, two heights", scaled, along(1, 0, 1, 2), [2]string{"a", "b"}, 2, levelling.Outside},
		{"one place, one height", scaled, along(1, 2, 1, 2), [2]string{"a", "b"}, 0, levelling.Within},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := judge(t, own(tt.limit), tt.points).Checks[0]
			if c.Between != tt.between || c.FoundMM != tt.found || c.Verdict != tt.verdict || c.Applies != (tt.between[0] != "") {
				t.Errorf("got %+v, want %v mm between %v, %s", c, tt.found, tt.between, tt.verdict)
			}
		})
	}
	reversed := judge(t, own(flatLimit(4, 2)), []levelPoint{{ID: "z"}, {ID: "a", X: 1}}).Checks[0]
	if reversed.Between != [2]string{"z", "a"} {
		t.Errorf("between %v, want the order given", reversed.Between)
	}
}

// The whole is as grave as its gravest check: outside, too close, read again.
func TestGravestCheck(t *testing.T) {
	points := along(0, 0, 1, 10)
	points[0].Height.SD = 1 // g 1.645, halved 1.163
	const within, again, close, outside = 12, 11.5, 11, 8
	tests := []struct {
		limits []float64
		want   levelling.Verdict
	}{
		{[]float64{within, within}, levelling.Within},
		{[]float64{again, within}, levelling.ReadAgain},
		{[]float64{within, again, close}, levelling.TooClose},
		{[]float64{close, again}, levelling.TooClose},
		{[]float64{close, outside, again}, levelling.Outside},
	}
	for _, tt := range tests {
		var p levelling.Profile
		for _, mm := range tt.limits {
			p.Rules = append(p.Rules, levelling.Rule{Limit: levelling.Limit{Kind: levelling.RangeLimit, MM: mm}})
		}
		if j := judge(t, p, points); j.Verdict != tt.want || len(j.Checks) != len(tt.limits) {
			t.Errorf("limits %v: %+v, want %s", tt.limits, j, tt.want)
		}
	}
}

// 24 CFR 3285.6 (read): the neighbours given, or else each point's nearest, and
// where several are nearest all of them.
func TestNeighbours(t *testing.T) {
	p := profile(t, "24cfr-3285-6")
	row := along(0, 0, 1, 5, 2.5, 12, 5, 40)
	// a is 0.3 from b and, but for rounding, from c, which is nearer to d.
	tied := along(0, 0, 0.3, 0, -math.Nextafter(0.3, 1), 7, -0.4, 7)
	tests := []struct {
		name       string
		points     []levelPoint
		neighbours [][2]string
		found      float64
		verdict    levelling.Verdict
	}{
		{"nearest", row, nil, 28, levelling.Outside},
		{"nearest without the last", row[:3], nil, 7, levelling.Outside},
		{"nearest of two", row[:2], nil, 5, levelling.Within},
		{"given", row, [][2]string{{"b", "a"}}, 5, levelling.Within},
		{"given, far apart", row, [][2]string{{"a", "b"}, {"d", "a"}}, 40, levelling.Outside},
		{"none given", row[:2], [][2]string{}, 5, levelling.Within},
		{"two nearest but for rounding", tied, nil, 7, levelling.Outside},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if j := judge(t, p, tt.points, tt.neighbours...); j.Verdict != tt.verdict || j.Checks[0].FoundMM != tt.found {
				t.Errorf("got %+v, want %v mm, %s", j, tt.found, tt.verdict)
			}
		})
	}
}

func TestFlatness(t *testing.T) {
	p := profile(t, "din-18202-t3-3")
	beside := func(y float64) []levelPoint {
		points := along(0, 0, 2, 11, 4, 0)
		points[1].Y = y
		return points
	}
	// c stands beside the end of the line from a to b, but for rounding.
	end := along(0.1, 0, 0.3, 0, math.Nextafter(0.3, 1), 3)
	end[2].Y = 0.25
	tests := []struct {
		name    string
		points  []levelPoint
		verdict levelling.Verdict
		third   string
	}{
		{"a slope is flat", along(0, 0, 2, -100, 4, -200), levelling.Within, "b"},
		{"a hump", along(0, 0, 2, 11, 4, 0), levelling.Outside, "b"},
		{"a hump on a slope, not halfway", along(0, 0, 1, 36, 4, 100), levelling.Outside, "b"},
		{"beside the line", beside(0.25), levelling.Outside, "b"},
		{"too far beside", beside(0.251), levelling.Within, ""},
		{"beside its end", end, levelling.Outside, "c"},
		{"two points", along(0, 0, 2, 99), levelling.Within, ""},
		{"beyond the two nothing is measured", along(0, 0, 0.1, 2, 8, 0), levelling.Within, "b"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			j := judge(t, p, tt.points)
			if j.Verdict != tt.verdict || j.Checks[0].Third != tt.third {
				t.Errorf("got %+v, want %s by %q", j, tt.verdict, tt.third)
			}
		})
	}
}

// Each reading counts with its share in the difference: sds 2, 2 and 1 in the
// middle make √3 (computed), g 2.849.
func TestFlatnessGuard(t *testing.T) {
	for found, want := range map[float64]levelling.Verdict{
		7.15: levelling.Within, 7.16: levelling.ReadAgain, 12.84: levelling.ReadAgain, 12.86: levelling.Outside, 10: levelling.TooClose,
	} {
		points := along(0, 0, 2, found, 4, 0)
		points[0].Height.SD, points[1].Height.SD, points[2].Height.SD = 2, 1, 2
		if j := judge(t, profile(t, "din-18202-t3-3"), points); j.Verdict != want {
			t.Errorf("%v mm: %+v, want %s", found, j, want)
		}
	}
}

// A source that indicates keeps the two verdicts of the readings.
func TestIndicator(t *testing.T) {
	for fall, want := range map[float64]levelling.Verdict{
		20: levelling.NotIndicated, 28.5: levelling.ReadAgain, 30: levelling.TooClose, 31.5: levelling.ReadAgain, 33: levelling.Indicated,
	} {
		points := along(0, 0, 6, -fall)
		points[0].Height.SD = 1
		if j := judge(t, profile(t, "mbie-canterbury"), points); j.Verdict != want || j.Checks[0].Verdict != want {
			t.Errorf("a fall of %v: %+v, want %s", fall, j, want)
		}
	}
}

func TestJudgeBadInput(t *testing.T) {
	good := levelPoint{ID: "a"}
	tests := []struct {
		name  string
		p     levelling.Profile
		bad   []levelPoint
		field string
	}{
		{"no points", own(flatLimit(4, 2)), nil, "points"},
		{"one point", own(flatLimit(4, 2)), []levelPoint{good}, "points"},
		{"no name", own(flatLimit(4, 2)), []levelPoint{good, {}}, "points[1].id"},
		{"one name twice", own(flatLimit(4, 2)), []levelPoint{good, good}, "points[1].id"},
		{"x", own(flatLimit(4, 2)), []levelPoint{good, {ID: "b", X: math.NaN()}}, "points[1].x_m"},
		{"y", own(flatLimit(4, 2)), []levelPoint{good, {ID: "b", Y: 1e151}}, "points[1].y_m"},
		{"height", own(flatLimit(4, 2)), []levelPoint{good, {ID: "b", Height: height{MM: math.Inf(-1)}}}, "points[1].height_mm"},
		{"sd", own(flatLimit(4, 2)), []levelPoint{good, {ID: "b", Height: height{SD: -1}}}, "points[1].sd_mm"},
		{"no limits", own(), []levelPoint{good, {ID: "b"}}, "limits"},
		{"second limit", own(flatLimit(4, 2), flatLimit(0, 2)), []levelPoint{good, {ID: "b"}}, "limits[1].limit_mm"},
		{"too many to be flat", profile(t, "din-18202-t3-4"), floor(1001), "points"},
		{"too many", profile(t, "nsw-2017-new"), floor(6000), "points"},
		{"too many for so many limits", own(slices.Repeat([]levelling.Limit{flatLimit(4, 2)}, 1000)...), floor(400), "points"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := tt.p.Judge(tt.bad, nil)
			wantInputError(t, err, tt.field)
		})
	}
	for _, pair := range [][2]string{{"a", "z"}, {"z", "b"}, {"a", "a"}} {
		_, err := own(flatLimit(4, 2)).Judge([]levelPoint{good, {ID: "b"}}, [][2]string{{"a", "b"}, pair})
		wantInputError(t, err, "neighbours[1]")
	}
}

// floor is a grid of points 0.9 m apart with 5 mm waves in it.
func floor(n int) []levelPoint {
	points := make([]levelPoint, n)
	for i := range points {
		x, y := 0.9*float64(i%20), 0.9*float64(i/20)
		points[i] = levelPoint{ID: fmt.Sprint(i), X: x, Y: y, Height: height{MM: 5 * math.Sin(x+y), SD: 0.3}}
	}
	return points
}

// The greatest numbers end in an answer without NaN or an error, never a panic.
func TestJudgeGreatNumbers(t *testing.T) {
	points := []levelPoint{
		{ID: "a", X: -1e150, Y: -1e150, Height: height{-1e150, 1e150}},
		{ID: "b", X: 1e150, Y: 1e150, Height: height{1e150, 1e150}},
		{ID: "c", X: 1e-200, Height: height{1e-200, 1e-200}},
		{ID: "d", Height: height{MM: 1}},
	}
	for _, p := range append(levelling.Profiles(), own(flatLimit(math.SmallestNonzeroFloat64, math.MaxFloat64), flatLimit(math.MaxFloat64, math.MaxFloat64))) {
		for _, c := range judge(t, p, points).Checks {
			if math.IsNaN(c.FoundMM) || math.IsInf(c.FoundMM, 0) || math.IsNaN(c.LimitMM) || math.IsInf(c.LimitMM, 0) {
				t.Errorf("%s: %+v", p.Name, c)
			}
		}
	}
}

// A firm's own profile is judged and cited like a published one.
func TestOwnProfile(t *testing.T) {
	p := levelling.Profile{
		Name: "ours", Title: "Ours", Source: "contract 12, clause 4", Standing: levelling.OwnRules,
		Rules: []levelling.Rule{{Text: "3 mm from support to support", Of: levelling.OfNeighbours, Limit: flatLimit(3, 1e3)}},
	}
	want := levelling.Judgement{
		Verdict: levelling.Outside, Source: "contract 12, clause 4",
		Checks: []levelling.Check{{
			Rule: "3 mm from support to support", Verdict: levelling.Outside, Applies: true,
			LimitMM: 3, FoundMM: 4, Between: [2]string{"a", "b"},
		}},
	}
	if diff := cmp.Diff(want, judge(t, p, along(0, 0, 2, 4))); diff != "" {
		t.Errorf("judgement (-want +got):\n%s", diff)
	}
	if cite := own(flatLimit(3, 2)).Cite(); !strings.Contains(cite, "no publication") {
		t.Errorf("own limits are cited as %q", cite)
	}
}
