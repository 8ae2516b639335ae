package calc

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// bearerSupports is what the calculator says of each support, without the
// caution that goes with every answer.
func bearerSupports(t *testing.T, in string) string {
	t.Helper()
	got := answer(t, "bearer", in)
	if caution, _ := got["caution"].(string); caution != bearerCaution || len(got) != 2 {
		t.Errorf("beside supports there is %v", got)
	}
	var b strings.Builder
	for _, s := range got["supports"].([]any) {
		s := s.(map[string]any)
		if len(s) != 5 {
			t.Errorf("a support has %v", s)
		}
		fmt.Fprintf(&b, "%v %v %v %v %v\n", s["reaction_kn"], s["moment_knm"], s["height_mm"], s["gap_mm"], s["floating"])
	}
	return b.String()
}

func TestBearer(t *testing.T) {
	const (
		two   = `"spans_m":[1.8,1.8],"ei_knm2":87.5,"udl_kn_m":1,`
		three = `"supports":[{"raise_mm":0},{"raise_mm":%v},{"raise_mm":0,"stiffness_kn_mm":null}]`
	)
	tests := []struct{ name, in, want string }{
		// Civil Engineering Formulas, Table 2.1 (read).
		{"level", `{` + two + fmt.Sprintf(three, 0) + `}`,
			"0.675 0 0 0 false\n2.25 -0.405 0 0 false\n0.675 0 0 0 false\n"},
		// wL⁴/8EI is 14.9966 mm, 5wL⁴/24EI 24.9943 (computed).
		{"ends float", `{` + two + fmt.Sprintf(three, 20) + `}`,
			"0 0 5.003 5.003 true\n3.6 -1.62 20 0 false\n0 0 5.003 5.003 true\n"},
		{"middle floats", `{` + two + fmt.Sprintf(three, -30) + `,"one_way":true}`,
			"1.8 0 0 0 false\n0 1.62 -24.994 5.006 true\n1.8 0 0 0 false\n"},
		{"held down", `{` + two + fmt.Sprintf(three, 20) + `,"one_way":false}`,
			"-0.2252 0 0 0 false\n4.0504 -2.0254 20 0 false\n-0.2252 0 0 0 false\n"},
		{"a join", `{` + two + fmt.Sprintf(three, 20) + `,"joins":[2],"point_loads":[]}`,
			"0.9 0 0 0 false\n1.8 0 20 0 false\n0.9 0 0 0 false\n"},
		{"one for each span, and a load", `{"spans_m":[2,1],"ei_knm2":[50,80],"udl_kn_m":[0,2],"joins":[2],` +
			`"point_loads":[{"span":1,"at_m":0.5,"load_kn":4},{"span":2,"at_m":1,"load_kn":3}],` + fmt.Sprintf(three, 0) + `}`,
			"3 0 0 0 false\n2 0 0 0 false\n4 0 0 0 false\n"},
		// 6EI/kL³ = 0.25: no moment over the middle (computed).
		{"elastic", `{"spans_m":[2,2],"ei_knm2":100,"udl_kn_m":1,"supports":[{"raise_mm":0},{"raise_mm":0,"stiffness_kn_mm":0.3},{"raise_mm":0}]}`,
			"1 0 0 0 false\n2 0 -6.667 0 false\n1 0 0 0 false\n"},
		{"one span", `{"spans_m":[2],"ei_knm2":100,"udl_kn_m":3,"supports":[{"raise_mm":1},{"raise_mm":-1}]}`,
			"3 0 1 0 false\n3 0 -1 0 false\n"},
		{"no load", `{"spans_m":[1,1],"ei_knm2":1,"udl_kn_m":0,"supports":[{"raise_mm":0},{"raise_mm":10},{"raise_mm":0}]}`,
			"0 0 10 10 true\n0 0 10 0 false\n0 0 10 10 true\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, bearerSupports(t, tt.in)); diff != "" {
				t.Errorf("bearer (-want +got):\n%s", diff)
			}
		})
	}
}

func TestBearerBadInput(t *testing.T) {
	good := map[string]string{
		"spans_m": `[1.8,1.8]`, "ei_knm2": `87.5`, "udl_kn_m": `1`, "supports": `[{"raise_mm":0},{"raise_mm":0},{"raise_mm":0}]`,
	}
	with := func(field, value string) string {
		fields := map[string]json.RawMessage{}
		for name, v := range good {
			fields[name] = json.RawMessage(v)
		}
		fields[field] = json.RawMessage(value)
		out, err := json.Marshal(fields)
		if err != nil {
			t.Fatal(err)
		}
		return string(out)
	}
	supports := func(middle string) string { return `[{"raise_mm":0},` + middle + `,{"raise_mm":0}]` }
	tests := []struct{ field, value, named string }{
		{"spans_m", `null`, "spans_m"},
		{"spans_m", `[]`, "spans_m"},
		{"spans_m", `1.8`, "spans_m"},
		{"spans_m", `[1.8,"1.8"]`, "spans_m[1]"},
		{"spans_m", `[1.8,0]`, "spans_m[1]"},
		{"spans_m", `[-1.8,1.8]`, "spans_m[0]"},
		{"ei_knm2", `null`, "ei_knm2"},
		{"ei_knm2", `0`, "ei_knm2"},
		{"ei_knm2", `[87.5]`, "ei_knm2"},
		{"ei_knm2", `[87.5,-1]`, "ei_knm2[1]"},
		{"ei_knm2", `"87.5"`, "ei_knm2"},
		{"udl_kn_m", `null`, "udl_kn_m"},
		{"udl_kn_m", `[1,1,1]`, "udl_kn_m"},
		{"udl_kn_m", `[1,null]`, "udl_kn_m[1]"},
		{"udl_kn_m", `-1`, "udl_kn_m"},
		{"supports", `null`, "supports"},
		{"supports", `[]`, "supports"},
		{"supports", `[{"raise_mm":0}]`, "supports"},
		{"supports", supports(`{}`), "supports[1].raise_mm"},
		{"supports", supports(`{"raise_mm":0,"stiffness_kn_mm":0}`), "supports[1].stiffness_kn_mm"},
		{"supports", supports(`{"raise_mm":0,"stiffness_kn_mm":-2}`), "supports[1].stiffness_kn_mm"},
		{"supports", supports(`{"raise_mm":0,"id":"B"}`), "supports[1].id"},
		{"point_loads", `[{"span":0,"at_m":0,"load_kn":1}]`, "point_loads[0].span"},
		{"point_loads", `[{"span":3,"at_m":0,"load_kn":1}]`, "point_loads[0].span"},
		{"point_loads", `[{"span":1.5,"at_m":0,"load_kn":1}]`, "point_loads[0].span"},
		{"point_loads", `[{"span":1e300,"at_m":0,"load_kn":1}]`, "point_loads[0].span"},
		{"point_loads", `[{"span":1,"at_m":1.81,"load_kn":1}]`, "point_loads[0].at_m"},
		{"point_loads", `[{"span":1,"at_m":-0.1,"load_kn":1}]`, "point_loads[0].at_m"},
		{"point_loads", `[{"span":1,"at_m":1}]`, "point_loads[0].load_kn"},
		{"point_loads", `[{"span":1,"at_m":1,"load_kn":-9}]`, "point_loads"},
		{"joins", `[1]`, "joins[0]"},
		{"joins", `[3]`, "joins[0]"},
		{"joins", `[2,2]`, "joins[1]"},
		{"joins", `[2.5]`, "joins[0]"},
		{"joins", `2`, "joins"},
		{"one_way", `"yes"`, "one_way"},
		{"butted", `[2]`, "butted"},
		{"spans_m", `[1e200,1e-200]`, "input"},
		{"udl_kn_m", `1e308`, "input"},
	}
	for _, tt := range tests {
		t.Run(tt.field+" "+tt.value, func(t *testing.T) { wantBad(t, "bearer", with(tt.field, tt.value), tt.named) })
	}
}
