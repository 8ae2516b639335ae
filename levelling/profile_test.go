package levelling_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/levelling"
)

type levelPoint = levelling.LevelPoint

// along are points on a line: so many metres along it, at such heights.
func along(metresAndMM ...float64) []levelPoint {
	var points []levelPoint
	for i := 0; i < len(metresAndMM); i += 2 {
		points = append(points, levelPoint{
			ID: string(rune('a' + i/2)), X: metresAndMM[i], Height: height{MM: metresAndMM[i+1]},
		})
	}
	return points
}

func judge(t interface {
	Helper()
	Fatal(...any)
}, p levelling.Profile, points []levelPoint, neighbours ...[2]string) levelling.Judgement {
	t.Helper()
	j, err := p.Judge(points, neighbours)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func profile(t *testing.T, name string) levelling.Profile {
	t.Helper()
	p, err := levelling.FindProfile(name)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// One floor, several verdicts (computed): a room of 6 m with a straight fall of
// 17 mm, read at its ends and every metre between.
func TestOneFloorSeveralVerdicts(t *testing.T) {
	ends := along(0, 0, 6, -17)
	var straight []levelPoint
	for i := range 7 {
		straight = append(straight, along(float64(i), -17*float64(i)/6)[0])
		straight[i].ID = string(rune('a' + i))
	}
	tests := []struct {
		profile string
		verdict levelling.Verdict
		limit   float64 // over the 6 m
	}{
		{"nhbc-2020", levelling.Within, 18},
		{"nsw-2017-new", levelling.Outside, 10},
		{"nahb", levelling.Outside, 12.5},
		{"din-18202-t2", levelling.Outside, 12},
		{"mbie-canterbury", levelling.NotIndicated, 30}, // 0.28 % of 0.5
		{"nz-1-200", levelling.Within, 30},
	}
	for _, tt := range tests {
		t.Run(tt.profile, func(t *testing.T) {
			p := profile(t, tt.profile)
			j := judge(t, p, ends)
			if j.Verdict != tt.verdict || !limitsBy(j, tt.limit, 17) {
				t.Errorf("got %+v, want %s by a limit of %v", j, tt.verdict, tt.limit)
			}
			if dense := judge(t, p, straight); dense.Verdict != tt.verdict {
				t.Errorf("read every metre it is %s, want %s", dense.Verdict, tt.verdict)
			}
		})
	}
}

// limitsBy reports that one check found so much against such a limit.
func limitsBy(j levelling.Judgement, limit, found float64) bool {
	for _, c := range j.Checks {
		if c.Applies && cmp.Equal(c.LimitMM, limit, near) && cmp.Equal(c.FoundMM, found, near) {
			return true
		}
	}
	return false
}

// Every limit holds at its edge and not beyond: two points so far apart, with
// the most that is within by the reference and 0.001 mm more.
func TestProfilesAtTheirEdges(t *testing.T) {
	tests := []struct {
		profile  string
		distance float64
		most     float64 // mm, still within
	}{
		// NHBC Standards 2020, 9.1.5 (read).
		{"nhbc-2020", 6, 18}, {"nhbc-2020", 4, 12}, {"nhbc-2020", 2, 6},
		{"nhbc-2020", 6.001, 20}, {"nhbc-2020", 12, 20},
		{"nhbc-2020", math.Nextafter(2, 1), 6}, {"nhbc-2020", math.Nextafter(6, 7), 18}, // but for rounding
		{"nhbc-2020", 1.999, 5}, {"nhbc-2020", 0.1, 5},
		// DIN 18202 Table 2 (second-hand).
		{"din-18202-t2", 0.3, 3}, {"din-18202-t2", 0.5, 3}, {"din-18202-t2", 0.501, 6}, {"din-18202-t2", 1, 6},
		{"din-18202-t2", 1.001, 8}, {"din-18202-t2", 3, 8}, {"din-18202-t2", 3.001, 12}, {"din-18202-t2", 6, 12},
		{"din-18202-t2", 6.001, 16}, {"din-18202-t2", 15, 16}, {"din-18202-t2", 15.001, 20}, {"din-18202-t2", 30, 20},
		{"din-18202-t2", 30.001, 30}, {"din-18202-t2", 1e9, 30},
		// New South Wales Guide to Standards and Tolerances 2017 (second-hand): not
		// scaled down, as BRANZ Build 155 (read) has it.
		{"nsw-2017-new", 2, 4}, {"nsw-2017-new", 0.1, 4}, {"nsw-2017-new", 2.001, 10}, {"nsw-2017-new", 9, 10},
		// MBIE Canterbury guidance (read): over 2 m 0.5 %, and 50 mm.
		{"mbie-canterbury", 2, 50}, {"mbie-canterbury", math.Nextafter(2, 3), 50}, {"mbie-canterbury", 2.001, 10.005}, {"mbie-canterbury", 6, 30},
		{"mbie-canterbury", 10, 50}, {"mbie-canterbury", 20, 50},
		// MBIE guide to tolerances 2015 (second-hand): 1:200.
		{"nz-1-200", 6, 30}, {"nz-1-200", 1, 5}, {"nz-1-200", 0.1, 0.5}, {"nz-1-200", 100, 500},
		// NAHB (second-hand): 1/4 in within 32 in, 1/2 in within 20 ft or in proportion.
		{"nahb", 0.8128, 6.35}, {"nahb", 0.1, 6.35}, {"nahb", 6.096, 12.7}, {"nahb", 3.048, 6.35}, {"nahb", 12.192, 25.4},
		// 24 CFR 3285.6 (read): adjacent supports within 1/4 in.
		{"24cfr-3285-6", 1, 6.35}, {"24cfr-3285-6", 1000, 6.35},
	}
	for _, tt := range tests {
		p := profile(t, tt.profile)
		met, missed := levelling.Within, levelling.Outside
		if p.Indicator {
			met, missed = levelling.NotIndicated, levelling.Indicated
		}
		for _, sign := range []float64{1, -1} {
			if j := judge(t, p, along(0, 0, tt.distance, sign*tt.most)); j.Verdict != met {
				t.Errorf("%s: %v mm over %v m: %+v, want %s", tt.profile, tt.most, tt.distance, j, met)
			}
			if j := judge(t, p, along(0, 0, tt.distance, sign*(tt.most+0.001))); j.Verdict != missed {
				t.Errorf("%s: %v mm over %v m: %+v, want %s", tt.profile, tt.most+0.001, tt.distance, j, missed)
			}
		}
	}
}

// DIN 18202 Table 3 (second-hand): limits between the columns in whole mm, met
// by a hollow halfway between two points and missed by 0.001 mm more.
func TestFlatnessAtItsEdges(t *testing.T) {
	tests := []struct {
		profile      string
		length, most float64
	}{
		{"din-18202-t3-3", 0.05, 2}, {"din-18202-t3-3", 0.1, 2}, {"din-18202-t3-3", 1, 4}, {"din-18202-t3-3", 1.5, 5},
		{"din-18202-t3-3", 2, 6}, {"din-18202-t3-3", 3, 8}, {"din-18202-t3-3", 4, 10}, {"din-18202-t3-3", 10, 12},
		{"din-18202-t3-3", 15, 15}, {"din-18202-t3-3", 20, 15},
		{"din-18202-t3-3", 1.24, 4}, {"din-18202-t3-3", 1.25, 5}, // 4.48 and 4.5
		{"din-18202-t3-4", 0.1, 1}, {"din-18202-t3-4", 1, 3}, {"din-18202-t3-4", 2, 5}, {"din-18202-t3-4", 3, 7},
		{"din-18202-t3-4", 4, 9}, {"din-18202-t3-4", 10, 12}, {"din-18202-t3-4", 15, 15},
	}
	for _, tt := range tests {
		p := profile(t, tt.profile)
		hollow := func(mm float64) []levelPoint { return along(0, 10, tt.length/2, 15-mm, tt.length, 20) }
		if j := judge(t, p, hollow(tt.most)); j.Verdict != levelling.Within || !limitsBy(j, tt.most, tt.most) {
			t.Errorf("%s: %v mm in %v m: %+v, want within", tt.profile, tt.most, tt.length, j)
		}
		if j := judge(t, p, hollow(-tt.most-0.001)); j.Verdict != levelling.Outside {
			t.Errorf("%s: %v mm in %v m: %+v, want outside", tt.profile, tt.most+0.001, tt.length, j)
		}
	}
}

// BRANZ Build 155 (read): a tolerance is not scaled down. The same numbers, by
// the two rules, part on a short length.
func TestScaledOrNot(t *testing.T) {
	limit := levelling.Limit{Kind: levelling.PairLimit, OverM: 2, MM: 4, Rule: levelling.Flat}
	bump := along(0, 0, 0.5, 3)
	if j := judge(t, levelling.OwnLimits([]levelling.Limit{limit}), bump); j.Verdict != levelling.Within {
		t.Errorf("flat: %+v, want within", j)
	}
	limit.Rule = levelling.Proportional
	if j := judge(t, levelling.OwnLimits([]levelling.Limit{limit}), bump); j.Verdict != levelling.Outside {
		t.Errorf("proportional: %+v, want outside", j)
	}
}

func TestProfilesSayWhereTheyComeFrom(t *testing.T) {
	seen := map[string]bool{}
	for _, p := range levelling.Profiles() {
		if seen[p.Name] || p.Title == "" || p.Source == "" {
			t.Errorf("%+v: a name of its own, a title and a source are wanted", p)
		}
		seen[p.Name] = true
		if second := strings.Contains(p.Cite(), "second-hand"); second != (p.Standing == levelling.SecondHand) {
			t.Errorf("%s is cited as %q, and was %s", p.Name, p.Cite(), p.Standing)
		}
		if isNew := strings.Contains(p.Cite(), "new floors"); isNew != p.NewFloors {
			t.Errorf("%s is cited as %q", p.Name, p.Cite())
		}
		for _, r := range p.Rules {
			if r.Text == "" {
				t.Errorf("%s has a rule without words", p.Name)
			}
		}
		if found, err := levelling.FindProfile(p.Name); err != nil || found.Title != p.Title {
			t.Errorf("%s: found %q, %v", p.Name, found.Title, err)
		}
	}
}

func TestUnknownProfile(t *testing.T) {
	_, err := levelling.FindProfile("nhbc")
	bad, ok := errors.AsType[*levelling.InputError](err)
	if !ok || bad.Field != "profile" {
		t.Fatalf("got %v, want an error on profile", err)
	}
	for _, p := range levelling.Profiles() {
		if !strings.Contains(bad.Cure, p.Name) {
			t.Errorf("%q does not name %s", bad.Cure, p.Name)
		}
	}
}

func TestLimitInWords(t *testing.T) {
	table := []levelling.LimitRow{{Metres: 1, MM: 3}, {Metres: 4, MM: 9}}
	tests := []struct {
		limit levelling.Limit
		want  string
	}{
		{levelling.Limit{Kind: levelling.RangeLimit, MM: 10}, "highest less lowest at most 10 mm"},
		{levelling.Limit{Kind: levelling.PairLimit, OverM: 2, MM: 4, Rule: levelling.Flat}, "two points at most 2 m apart: at most 4 mm"},
		{
			levelling.Limit{Kind: levelling.PairLimit, OverM: 6, MM: 18, Rule: levelling.Proportional},
			"two points at most 6 m apart: at most 18 mm over 6 m, in proportion over less",
		},
		{
			levelling.Limit{Kind: levelling.PairLimit, OverM: 10, Rule: levelling.Bands, Table: table},
			"two points at most 10 m apart: at most 3 mm up to 1 m, 9 mm up to 4 m",
		},
		{
			levelling.Limit{Kind: levelling.PairLimit, OverM: 10, Rule: levelling.Linear, Table: table},
			"two points at most 10 m apart: at most 3 mm at 1 m, 9 mm at 4 m, and between these in proportion",
		},
	}
	for _, tt := range tests {
		if got := tt.limit.String(); got != tt.want {
			t.Errorf("%q, want %q", got, tt.want)
		}
	}
}

// The narrowest limit is what a margin must stay below, whatever sort it is.
func TestNarrowest(t *testing.T) {
	own := func(limits ...levelling.Limit) levelling.Profile { return levelling.OwnLimits(limits) }
	nsw, err := levelling.FindProfile("nsw-2017-new")
	if err != nil {
		t.Fatal(err)
	}
	for name, test := range map[string]struct {
		profile levelling.Profile
		mm      float64
	}{
		"None":  {levelling.Profile{}, math.Inf(1)},
		"Range": {own(levelling.Limit{Kind: levelling.RangeLimit, MM: 12}, levelling.Limit{Kind: levelling.PairLimit, OverM: 2, MM: 6, Rule: levelling.Flat}), 6},
		"Table": {own(levelling.Limit{Kind: levelling.RangeLimit, MM: 12}, levelling.Limit{Kind: levelling.PairLimit, OverM: 4, Rule: levelling.Bands, Table: []levelling.LimitRow{{1, 3}, {4, 9}}}), 3},
		"NSW":   {nsw, 4}, // New South Wales Guide to Standards and Tolerances 2017: 4 mm in any 2 m (second-hand)
	} {
		if got := test.profile.Narrowest(); got != test.mm {
			t.Errorf("%s: %g, want %g", name, got, test.mm)
		}
	}
}
