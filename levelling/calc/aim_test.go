package calc

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"relevel/levelling"
)

const (
	aimPoints = `"points":[{"id":"A","x_m":0,"y_m":0,"height_mm":10},{"id":"B","x_m":1.8,"y_m":0,"height_mm":0}]`
	aimPair   = `{"kind":"pair","over_m":2,"limit_mm":4,"rule":"flat"}`
)

func TestAim(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"level", `{` + aimPoints + `,"aim":"level","height_mm":4}`,
			`{"targets":[{"id":"A","target_mm":10,"lift_mm":0},{"id":"B","target_mm":4,"lift_mm":4}],` +
				`"total_lift_mm":4,"total_lower_mm":0,"greatest_lift_mm":4,"feasible":true}`},
		{"highest", `{` + aimPoints + `,"aim":"highest","height_mm":null,"plane":null,"limits":null}`,
			`{"targets":[{"id":"A","target_mm":10,"lift_mm":0},{"id":"B","target_mm":10,"lift_mm":10}],` +
				`"total_lift_mm":10,"total_lower_mm":0,"greatest_lift_mm":10,"set_by":"A","feasible":true}`},
		{"plane", `{` + aimPoints + `,"aim":"plane","plane":{"x_mm_per_m":-1,"y_mm_per_m":0}}`,
			`{"targets":[{"id":"A","target_mm":10,"lift_mm":0},{"id":"B","target_mm":8.2,"lift_mm":8.2}],` +
				`"total_lift_mm":8.2,"total_lower_mm":0,"greatest_lift_mm":8.2,"set_by":"A","feasible":true}`},
		{"least", `{` + aimPoints + `,"aim":"least","margin_mm":0.5,"limits":[` + aimPair + `]}`,
			`{"targets":[{"id":"A","target_mm":10,"lift_mm":0},{"id":"B","target_mm":6.5,"lift_mm":6.5}],` +
				`"total_lift_mm":6.5,"total_lower_mm":0,"greatest_lift_mm":6.5,"set_by":"A","feasible":true}`},
		{"least, brought down", `{"points":[{"id":"A","x_m":0,"y_m":0,"height_mm":10,"max_lower_mm":20,"max_lift_mm":null,"fixed":false},` +
			`{"id":"B","x_m":0,"y_m":1,"height_mm":0,"max_lift_mm":0}],"aim":"least","limits":[{"kind":"range","limit_mm":4}]}`,
			`{"targets":[{"id":"A","target_mm":4,"lift_mm":-6},{"id":"B","target_mm":0,"lift_mm":0}],` +
				`"total_lift_mm":0,"total_lower_mm":6,"greatest_lift_mm":0,"feasible":true}`},
		{"not feasible", `{"points":[{"id":"A","x_m":0,"y_m":0,"height_mm":10},{"id":"B","x_m":1.8,"y_m":0,"height_mm":0,"fixed":true}],` +
			`"aim":"least","limits":[` + aimPair + `]}`,
			`{"targets":[{"id":"A","target_mm":10,"lift_mm":0},{"id":"B","target_mm":6,"lift_mm":6}],` +
				`"total_lift_mm":6,"total_lower_mm":0,"greatest_lift_mm":6,"set_by":"A","feasible":false,` +
				`"why":"B is fixed at 0 mm and would have to come up to 6 mm: A stands at 10 mm, A and B, 1.8 m apart, may differ by 4 mm"}`},
		// A third of a millimetre is rounded where it is written and nowhere before.
		{"rounded once", `{"points":[{"id":"A","x_m":0,"y_m":0,"height_mm":1},{"id":"B","x_m":1,"y_m":0,"height_mm":0},{"id":"C","x_m":1,"y_m":0,"height_mm":0}],` +
			`"aim":"least","limits":[{"kind":"pair","over_m":3,"limit_mm":2,"rule":"proportional"}]}`,
			`{"targets":[{"id":"A","target_mm":1,"lift_mm":0},{"id":"B","target_mm":0.333,"lift_mm":0.333},{"id":"C","target_mm":0.333,"lift_mm":0.333}],` +
				`"total_lift_mm":0.667,"total_lower_mm":0,"greatest_lift_mm":0.333,"set_by":"A","feasible":true}`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := Run("aim", []byte(tt.in))
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, string(got)); diff != "" {
				t.Errorf("aim (-want +got):\n%s", diff)
			}
		})
	}
}

func TestAimBadInput(t *testing.T) {
	point := func(more string) string {
		return `{"points":[{"id":"A","x_m":0,"y_m":0,"height_mm":0` + more + `}],"aim":"least"}`
	}
	least := func(more string) string { return `{` + aimPoints + `,"aim":"least",` + more + `}` }
	tests := []struct{ name, in, field string }{
		{"nothing", `{}`, "points"},
		{"no points", `{"points":[],"aim":"least"}`, "points"},
		{"a point is a name", `{"points":["A"],"aim":"least"}`, "points[0]"},
		{"no name", `{"points":[{"x_m":0,"y_m":0,"height_mm":0}],"aim":"least"}`, "points[0].id"},
		{"no position", `{"points":[{"id":"A","y_m":0,"height_mm":0}],"aim":"least"}`, "points[0].x_m"},
		{"no other position", `{"points":[{"id":"A","x_m":0,"height_mm":0}],"aim":"least"}`, "points[0].y_m"},
		{"no height", `{"points":[{"id":"A","x_m":0,"y_m":0}],"aim":"least"}`, "points[0].height_mm"},
		{"fixed by a number", point(`,"fixed":1`), "points[0].fixed"},
		{"cap below 0", point(`,"max_lift_mm":-1`), "points[0].max_lift_mm"},
		{"lowering below 0", point(`,"max_lower_mm":-0.1`), "points[0].max_lower_mm"},
		{"a standard deviation", point(`,"sd_mm":1`), "points[0].sd_mm"},
		{"a name twice", strings.Replace(least(`"limits":[]`), `"B"`, `"A"`, 1), "points[1].id"},
		{"no aim", `{` + aimPoints + `}`, "aim"},
		{"unknown aim", `{` + aimPoints + `,"aim":"lowest"}`, "aim"},
		{"level without a height", `{` + aimPoints + `,"aim":"level"}`, "height_mm"},
		{"height is text", `{` + aimPoints + `,"aim":"highest","height_mm":"4"}`, "height_mm"},
		{"plane is a number", `{` + aimPoints + `,"aim":"plane","plane":2}`, "plane"},
		{"plane by another name", `{` + aimPoints + `,"aim":"plane","plane":{"x":2}}`, "plane.x"},
		{"margin below 0", least(`"margin_mm":-1`), "margin_mm"},
		{"limits is an object", least(`"limits":` + aimPair), "limits"},
		{"limit at the margin", least(`"margin_mm":4,"limits":[` + aimPair + `]`), "limits[0].limit_mm"},
		{"limit below 0", least(`"limits":[` + aimPair + `,{"kind":"range","limit_mm":-4}]`), "limits[1].limit_mm"},
		{"row at the margin", least(`"margin_mm":4,"limits":[{"kind":"pair","over_m":9,"rule":"bands","table":[[1,5],[2,4]]}]`), "limits[0].table[1]"},
		{"more", least(`"limit_mm":4`), "limit_mm"},
		{"beyond numbers", `{"points":[{"id":"A","x_m":0,"y_m":0,"height_mm":1.7e308},{"id":"B","x_m":0,"y_m":0,"height_mm":-1.7e308}],"aim":"highest"}`, "points"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { wantBad(t, "aim", tt.in, tt.field) })
	}
}

// Numbers of any size end in an answer or in a line that names a field.
func TestAimOfAnySize(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := func(label string) string {
			return rapid.SampledFrom([]string{"0", "-0", "1", "-2.5", "1e-320", "1e17", "1e150", "-1e200", "1e308", "-1.7e308", "1.7e308"}).Draw(t, label)
		}
		positive := func(label string) string { return strings.TrimPrefix(number(label), "-") }
		var points []string
		for i := range rapid.IntRange(1, 6).Draw(t, "points") {
			points = append(points, fmt.Sprintf(`{"id":"%d","x_m":%s,"y_m":%s,"height_mm":%s,"max_lift_mm":%s,"max_lower_mm":%s,"fixed":%t}`,
				i, number("x"), number("y"), number("height"), positive("cap"), positive("lowering"), rapid.Bool().Draw(t, "fixed")))
		}
		aim := rapid.SampledFrom([]string{"level", "highest", "plane", "least"}).Draw(t, "aim")
		in := fmt.Sprintf(`{"points":[%s],"aim":"%s","height_mm":%s,"plane":{"x_mm_per_m":%s,"y_mm_per_m":%s},"margin_mm":%s,"limits":[
			{"kind":"pair","over_m":%s,"limit_mm":%s,"rule":"%s"},{"kind":"pair","over_m":%s,"rule":"%s","table":[[0,%s],[1e200,1.7e308]]},{"kind":"range","limit_mm":%s}]}`,
			strings.Join(points, ","), aim, number("level"), number("slope"), number("slope"), rapid.SampledFrom([]string{"0", "1e-320", "1"}).Draw(t, "margin"),
			positive("over"), positive("limit"), rapid.SampledFrom([]string{"flat", "proportional"}).Draw(t, "rule"),
			positive("over"), rapid.SampledFrom([]string{"bands", "linear"}).Draw(t, "rule"), positive("row"), positive("range"))
		out, err := Run("aim", []byte(in))
		var bad *levelling.InputError
		if err != nil && !errors.As(err, &bad) {
			t.Fatalf("%s: %v", in, err)
		}
		if err == nil && !strings.HasPrefix(string(out), `{"targets":[`) {
			t.Fatalf("%s: %s", in, out)
		}
	})
}
