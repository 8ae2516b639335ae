package calc

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// room is a room of 6 m with a straight fall.
func room(fall string) string {
	return `"points":[{"id":"A","x_m":0,"y_m":0,"height_mm":0},{"id":"B","x_m":6,"y_m":0,"height_mm":-` + fall + `}]`
}

// One floor, several verdicts (computed): 6 m with a straight fall of 17 mm.
func TestToleranceProfiles(t *testing.T) {
	tests := []struct {
		profile, verdict string
		limit            float64
		source           string
	}{
		{"nhbc-2020", "within", 18, "NHBC Standards 2020, 9.1.5; made for new floors"},
		{"nsw-2017-new", "outside", 10, "New South Wales Guide to Standards and Tolerances 2017, as quoted second-hand; made for new floors"},
		{"nahb", "outside", 12.5, "NAHB Residential Construction Performance Guidelines, as quoted second-hand; made for new floors"},
		{"din-18202-t2", "outside", 12, "DIN 18202, Table 2, as quoted second-hand; made for new floors"},
		{"mbie-canterbury", "not-indicated", 30, "MBIE, Repairing and rebuilding houses affected by the Canterbury earthquakes"},
		{"nz-1-200", "within", 30, "MBIE guide to tolerances 2015, as quoted second-hand; made for new floors"},
	}
	for _, tt := range tests {
		t.Run(tt.profile, func(t *testing.T) {
			got := answer(t, "tolerance", `{"profile":"`+tt.profile+`",`+room("17")+`}`)
			if got["verdict"] != tt.verdict || got["source"] != tt.source {
				t.Errorf("got %v by %v, want %s by %s", got["verdict"], got["source"], tt.verdict, tt.source)
			}
			first := got["checks"].([]any)[0].(map[string]any)
			rule, _ := first["rule"].(string)
			delete(first, "rule")
			want := map[string]any{"limit_mm": tt.limit, "found_mm": 17.0, "between": []any{"A", "B"}, "verdict": tt.verdict}
			if diff := cmp.Diff(want, first); diff != "" || rule == "" {
				t.Errorf("first check, by %q (-want +got):\n%s", rule, diff)
			}
		})
	}
}

func TestToleranceLimits(t *testing.T) {
	in := `{"limits":[{"kind":"pair","over_m":6,"limit_mm":17.0000001,"rule":"flat"},{"kind":"range","limit_mm":16},
		{"kind":"pair","over_m":5.9,"limit_mm":1,"rule":"flat"}],` + room("17") + `}`
	want := map[string]any{
		"verdict": "outside", "source": "limits as agreed, of no publication",
		"checks": []any{
			map[string]any{
				"rule": "two points at most 6 m apart: at most 17.0000001 mm", "limit_mm": 17.0, "found_mm": 17.0,
				"between": []any{"A", "B"}, "verdict": "within",
			},
			map[string]any{
				"rule": "highest less lowest at most 16 mm", "limit_mm": 16.0, "found_mm": 17.0,
				"between": []any{"A", "B"}, "verdict": "outside",
			},
		},
	}
	if diff := cmp.Diff(want, answer(t, "tolerance", in)); diff != "" {
		t.Errorf("tolerance (-want +got):\n%s", diff)
	}
}

// A rule for none of the points has no check.
func TestToleranceNothingToCheck(t *testing.T) {
	want := map[string]any{"verdict": "within", "source": "limits as agreed, of no publication", "checks": []any{}}
	got := answer(t, "tolerance", `{"limits":[{"kind":"pair","over_m":2,"limit_mm":4,"rule":"flat"}],`+room("17")+`}`)
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("tolerance (-want +got):\n%s", diff)
	}
}

// With g = 1.645·√(0.6² + 0.8²) = 1.645, halved 1.163 (computed), about 18 mm.
func TestToleranceByTheReadings(t *testing.T) {
	in := `{"profile":"nhbc-2020","points":[{"id":"A","x_m":0,"y_m":0,"height_mm":0,"sd_mm":0.6},` +
		`{"id":"B","x_m":6,"y_m":0,"height_mm":%v,"sd_mm":0.8}]}`
	tests := []struct {
		height   float64
		verdict  string
		readings any // absent, a number, or null
	}{
		{-16.355, "within", "absent"},
		{-16.356, "read-again", "absent"},
		{-16.836, "read-again", "absent"},
		{-16.838, "too-close", 3.0},
		{-17.5, "too-close", 11.0}, // (1.645 / 0.5)² = 10.8
		{18, "too-close", nil},
		{19.164, "read-again", "absent"},
		{19.645, "read-again", "absent"},
		{19.646, "outside", "absent"},
	}
	for _, tt := range tests {
		got := answer(t, "tolerance", fmt.Sprintf(in, tt.height))
		check := got["checks"].([]any)[0].(map[string]any)
		readings, there := check["readings"]
		if !there {
			readings = "absent"
		}
		if got["verdict"] != tt.verdict || check["verdict"] != tt.verdict || readings != tt.readings {
			t.Errorf("%v mm: %v, want %s with %v readings", tt.height, got, tt.verdict, tt.readings)
		}
	}
}

func TestToleranceNeighbours(t *testing.T) {
	in := `{"profile":"24cfr-3285-6",%s"points":[{"id":"A","x_m":0,"y_m":0,"height_mm":0},` +
		`{"id":"B","x_m":1,"y_m":0,"height_mm":6.35},{"id":"C","x_m":3,"y_m":0,"height_mm":0}]}`
	for neighbours, verdict := range map[string]string{
		``:                                    "within", // 24 CFR 3285.6 (read): 1/4 in
		`"neighbours":[],`:                    "within",
		`"neighbours":[["A","B"],["B","C"]],`: "within",
		`"neighbours":null,"limits":null,`:    "within",
	} {
		got := answer(t, "tolerance", fmt.Sprintf(in, neighbours))
		if got["verdict"] != verdict {
			t.Errorf("%s: %v, want %s", neighbours, got, verdict)
		}
	}
	apart := strings.Replace(in, `"height_mm":0}]`, `"height_mm":20}]`, 1)
	if got := answer(t, "tolerance", fmt.Sprintf(apart, `"neighbours":[["A","B"]],`)); got["verdict"] != "within" {
		t.Errorf("C is nobody's neighbour: %v", got)
	}
	if got := answer(t, "tolerance", fmt.Sprintf(apart, ``)); got["verdict"] != "outside" {
		t.Errorf("C is 13.65 from its nearest: %v", got)
	}
}

// DIN 18202 Table 3 row 3 (second-hand): 10 mm in 4 m.
func TestToleranceFlatness(t *testing.T) {
	in := `{"profile":"din-18202-t3-3","points":[{"id":"A","x_m":0,"y_m":0,"height_mm":0},` +
		`{"id":"B","x_m":2,"y_m":0.25,"height_mm":-11},{"id":"C","x_m":4,"y_m":0,"height_mm":0}]}`
	check := answer(t, "tolerance", in)["checks"].([]any)[0].(map[string]any)
	delete(check, "rule")
	want := map[string]any{"limit_mm": 10.0, "found_mm": 11.0, "between": []any{"A", "C"}, "third": "B", "verdict": "outside"}
	if diff := cmp.Diff(want, check); diff != "" {
		t.Errorf("check (-want +got):\n%s", diff)
	}
}

func TestToleranceBadInput(t *testing.T) {
	points := room("17")
	limit := `"limits":[{"kind":"pair","over_m":2,"limit_mm":4,"rule":"flat"}]`
	point := func(fields string) string {
		return `{"profile":"nahb","points":[{"id":"A","x_m":0,"y_m":0,"height_mm":0},{` + fields + `}]}`
	}
	tests := []struct{ in, field string }{
		{`{` + points + `}`, "profile"},
		{`{"profile":"nhbc",` + points + `}`, "profile"},
		{`{"profile":"",` + points + `}`, "profile"},
		{`{"profile":1,` + points + `}`, "profile"},
		{`{"profile":"nahb",` + limit + `,` + points + `}`, "limits"},
		{`{"profile":"nahb","limits":[],` + points + `}`, "limits"},
		{`{"limits":[],` + points + `}`, "limits"},
		{`{"limits":[{"kind":"pair","over_m":2,"limit_mm":0,"rule":"flat"}],` + points + `}`, "limits[0].limit_mm"},
		{`{"limits":[{"kind":"pair","over_m":-2,"limit_mm":1,"rule":"flat"}],` + points + `}`, "limits[0].over_m"},
		{`{"limits":[{"kind":"pair","over_m":2,"rule":"bands","table":[]}],` + points + `}`, "limits[0].table"},
		{`{"limits":[{"kind":"pair","over_m":2,"rule":"linear","table":[[2,3],[1,4]]}],` + points + `}`, "limits[0].table[1]"},
		{`{"profile":"nahb","margin_mm":1,` + points + `}`, "margin_mm"},
		{`{"profile":"nahb"}`, "points"},
		{`{"profile":"nahb","points":[]}`, "points"},
		{`{"profile":"nahb","points":[{"id":"A","x_m":0,"y_m":0,"height_mm":0}]}`, "points"},
		{point(`"id":"A","x_m":0,"y_m":0,"height_mm":0`), "points[1].id"},
		{point(`"x_m":0,"y_m":0,"height_mm":0`), "points[1].id"},
		{point(`"id":"B","y_m":0,"height_mm":0`), "points[1].x_m"},
		{point(`"id":"B","x_m":0,"height_mm":0`), "points[1].y_m"},
		{point(`"id":"B","x_m":0,"y_m":0`), "points[1].height_mm"},
		{point(`"id":"B","x_m":0,"y_m":0,"height_mm":0,"sd_mm":-1`), "points[1].sd_mm"},
		{point(`"id":"B","x_m":0,"y_m":0,"height_mm":0,"z_m":1`), "points[1].z_m"},
		{point(`"id":"B","x_m":1e300,"y_m":0,"height_mm":0`), "points[1].x_m"},
		{point(`"id":"B","x_m":0,"y_m":0,"height_mm":-1e308`), "points[1].height_mm"},
		{`{"profile":"24cfr-3285-6","neighbours":[["A","Z"]],` + points + `}`, "neighbours[0]"},
		{`{"profile":"24cfr-3285-6","neighbours":[["A","B","A"]],` + points + `}`, "neighbours[0]"},
		{`{"profile":"24cfr-3285-6","neighbours":["A"],` + points + `}`, "neighbours[0]"},
		{`{"profile":"24cfr-3285-6","neighbours":"A",` + points + `}`, "neighbours"},
	}
	for _, tt := range tests {
		wantBad(t, "tolerance", tt.in, tt.field)
	}
	_, err := Run("tolerance", []byte(`{"profile":"nhbc",`+points+`}`))
	if err == nil || !strings.Contains(err.Error(), "nhbc-2020") {
		t.Errorf("got %v, want the profiles there are", err)
	}
}
