package calc

import (
	"encoding/json"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/levelling"
)

// answer runs a calculator and decodes what it prints.
func answer(t *testing.T, name, in string) map[string]any {
	t.Helper()
	out, err := Run(name, []byte(in))
	if err != nil {
		t.Fatalf("%s of %s: %v", name, in, err)
	}
	var got map[string]any
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatalf("%s printed %s: %v", name, out, err)
	}
	return got
}

// wantText runs a calculator and compares what it prints.
func wantText(t *testing.T, name, in, want string) {
	t.Helper()
	out, err := Run(name, []byte(in))
	if err != nil {
		t.Fatalf("%s of %s: %v", name, in, err)
	}
	if diff := cmp.Diff(want, string(out)); diff != "" {
		t.Errorf("%s (-want +got):\n%s", name, diff)
	}
}

// wantBad runs a calculator on bad input.
func wantBad(t *testing.T, name, in, field string) {
	t.Helper()
	out, err := Run(name, []byte(in))
	if out != nil {
		t.Errorf("%s of %s printed %s beside an error", name, in, out)
	}
	var bad *levelling.InputError
	if !errors.As(err, &bad) {
		t.Errorf("%s of %s: got %v, want an InputError on %s", name, in, err, field)
		return
	}
	if bad.Field != field || bad.Cure == "" || strings.ContainsAny(bad.Error(), "\r\n") {
		t.Errorf("%s of %s: got %q, want one line on %s", name, in, bad, field)
	}
}

func TestTable(t *testing.T) {
	if names := Names(); !slices.IsSorted(names) || len(slices.Compact(names)) != len(calculators) {
		t.Errorf("the names are not in order, or one is there twice: %v", names)
	}
	for _, c := range calculators {
		t.Run(c.name, func(t *testing.T) {
			help, err := Help(c.name)
			if err != nil {
				t.Fatal(err)
			}
			if !strings.Contains(help, c.example) || !strings.HasPrefix(help, c.name+": "+c.about) {
				t.Errorf("help without its example or first line:\n%s", help)
			}
			for line := range strings.Lines(c.help) {
				if len([]rune(line)) > 110 {
					t.Errorf("a long line of help: %s", line)
				}
			}
			if about, err := About(c.name); about == "" || err != nil {
				t.Errorf("about %q, %v", about, err)
			}
		})
	}
}

func TestUnknown(t *testing.T) {
	_, err := Run("tea", []byte(`{}`))
	if !errors.Is(err, ErrUnknown) || !strings.Contains(err.Error(), "aim, bearer, book, crack, cut, jack, loads, network, packer, pad, peg, rounds, shrink, tolerance, trend, vents") {
		t.Errorf("got %v, want what there is", err)
	}
	if _, err := Help("tea"); !errors.Is(err, ErrUnknown) {
		t.Errorf("help: got %v", err)
	}
	if _, err := About("tea"); !errors.Is(err, ErrUnknown) {
		t.Errorf("about: got %v", err)
	}
}

// Shape is refused alike for all; crack, with one field, shows it.
func TestShape(t *testing.T) {
	deep := `{"width_mm":` + strings.Repeat("[", 5000) + strings.Repeat("]", 5000) + `}`
	tests := []struct{ name, in, field string }{
		{"empty", ``, "input"},
		{"list", `[]`, "input"},
		{"null", `null`, "input"},
		{"number", `2.5`, "input"},
		{"not JSON", `width 2.5`, "input"},
		{"NaN", `{"width_mm":NaN}`, "input"},
		{"comma at the end", `{"width_mm":2.5,}`, "input"},
		{"cut short", `{"width_mm":2.5`, "input"},
		{"something after", `{"width_mm":2.5} 1`, "input"},
		{"another object after", `{"width_mm":2.5}{}`, "input"},
		{"not UTF-8", "{\"width_mm\":\"\xff\"}", "input"},
		{"missing", `{}`, "width_mm"},
		{"null for a number", `{"width_mm":null}`, "width_mm"},
		{"text for a number", `{"width_mm":"2.5"}`, "width_mm"},
		{"true for a number", `{"width_mm":true}`, "width_mm"},
		{"list for a number", `{"width_mm":[2.5]}`, "width_mm"},
		{"too large for a number", `{"width_mm":1e999}`, "width_mm"},
		{"twice", `{"width_mm":1,"width_mm":1}`, "width_mm"},
		{"twice by escape", `{"width_mm":1,"width_m\u006d":1}`, "width_mm"},
		{"twice and unknown", `{"x":{"y":1,"y":2},"width_mm":1}`, "x.y"},
		{"unknown", `{"width_mm":1,"depth_mm":1}`, "depth_mm"},
		{"unknown with null", `{"width_mm":1,"depth_mm":null}`, "depth_mm"},
		{"in other capitals", `{"Width_mm":1}`, "Width_mm"},
		{"misspelt", `{"widht_mm":1}`, "widht_mm"},
		{"a name with a line break", `{"a\nb":1,"width_mm":1}`, `"a\nb"`},
		{"a name of nothing", `{"":1,"width_mm":1}`, `""`},
		{"nested without end", deep, "width_mm" + strings.Repeat("[0]", 16)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { wantBad(t, "crack", tt.in, tt.field) })
	}
}

func TestCuresSayWhatIsWrong(t *testing.T) {
	tests := []struct{ in, want string }{
		{`{}`, "width_mm: the width of the crack in mm, 0 or more; it is missing"},
		{`{"width_mm":"2"}`, "width_mm: a number, the width of the crack in mm, 0 or more; not text"},
		{`{"width_mm":-2}`, "width_mm: the width of the crack in mm, 0 or more"},
		{`{"width":2}`, "width: no such field; there are width_mm"},
	}
	for _, tt := range tests {
		if _, err := Run("crack", []byte(tt.in)); err == nil || err.Error() != tt.want {
			t.Errorf("%s: got %v, want %s", tt.in, err, tt.want)
		}
	}
}

func TestNumber(t *testing.T) {
	tests := []struct {
		n    number
		want string
	}{
		{mm(0), "0"},
		{mm(math.Copysign(0, -1)), "0"},
		{mm(-0.0004), "0"},
		{mm(-0.0005), "-0.001"},
		{mm(0.1 + 0.2), "0.3"},
		{mm(1.23456), "1.235"},
		{mm(123456789.1234), "123456789.123"},
		{number{1.234567, 5}, "1.23457"},
		{mm(1e300), "1e+300"},
		{mm(-math.MaxFloat64), "-1.7976931348623157e+308"},
	}
	for _, tt := range tests {
		got, err := json.Marshal(tt.n)
		if err != nil || string(got) != tt.want {
			t.Errorf("%v to %d places is written %s, %v; want %s", tt.n.value, tt.n.decimals, got, err, tt.want)
		}
	}
}

func TestNumberIsNeverNaN(t *testing.T) {
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		out, err := marshal(map[string]number{"x": mm(x)})
		var bad *levelling.InputError
		if out != nil || !errors.As(err, &bad) || bad.Field != "input" {
			t.Errorf("%v is written %s, %v", x, out, err)
		}
	}
}

// BRE Digest 251 (read).
func TestCrack(t *testing.T) {
	got := answer(t, "crack", `{"width_mm":2.5}`)
	want := map[string]any{"class": 2.0, "source": "BRE Digest 251, by width alone"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("crack (-want +got):\n%s", diff)
	}
	for width, class := range map[string]float64{"0": 0, "-0": 0, "0.1": 1, "1": 1, "5": 2, "15": 3, "25": 4, "25.1": 5, "1e308": 5} {
		if got := answer(t, "crack", `{"width_mm":`+width+`}`); got["class"] != class {
			t.Errorf("%s mm is class %v, want %v", width, got["class"], class)
		}
	}
	wantBad(t, "crack", `{"width_mm":-0.1}`, "width_mm")
}

func TestCut(t *testing.T) {
	tests := []struct {
		name, in           string
		depth, left, right float64
	}{
		// Common practice (computed).
		{"centre", `{"board_mm":19,"joist_mm":45,"kerf_mm":3}`, 19, 21, 21},
		{"null is left out", `{"board_mm":19,"joist_mm":45,"kerf_mm":3,"off_centre_mm":null}`, 19, 21, 21},
		{"right", `{"board_mm":19,"joist_mm":45,"kerf_mm":3,"off_centre_mm":5.5}`, 19, 26.5, 15.5},
		{"left", `{"board_mm":19,"joist_mm":45,"kerf_mm":3,"off_centre_mm":-5.5}`, 19, 15.5, 26.5},
		{"over the edge", `{"board_mm":19,"joist_mm":45,"kerf_mm":3,"off_centre_mm":22}`, 19, 43, 0},
		{"rounded once", `{"board_mm":19.00049,"joist_mm":45.0011,"kerf_mm":0}`, 19, 22.501, 22.501},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := answer(t, "cut", tt.in)
			caution, _ := got["caution"].(string)
			if alone := strings.HasPrefix(caution, cleatCaution); !strings.HasSuffix(caution, cutCaution) || alone != (tt.right == 0) {
				t.Errorf("caution %q", caution)
			}
			delete(got, "caution")
			want := map[string]any{"saw_depth_mm": tt.depth, "bearing_left_mm": tt.left, "bearing_right_mm": tt.right}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("cut (-want +got):\n%s", diff)
			}
		})
	}
}

func TestCutBadInput(t *testing.T) {
	tests := []struct{ in, field string }{
		{`{"joist_mm":45,"kerf_mm":3}`, "board_mm"},
		{`{"board_mm":19,"kerf_mm":3}`, "joist_mm"},
		{`{"board_mm":19,"joist_mm":45}`, "kerf_mm"},
		{`{"board_mm":0,"joist_mm":45,"kerf_mm":3}`, "board_mm"},
		{`{"board_mm":19,"joist_mm":-45,"kerf_mm":3}`, "joist_mm"},
		{`{"board_mm":19,"joist_mm":45,"kerf_mm":-3}`, "kerf_mm"},
		{`{"board_mm":19,"joist_mm":3,"kerf_mm":3}`, "kerf_mm"},
		{`{"board_mm":19,"joist_mm":45,"kerf_mm":3,"off_centre_mm":"5"}`, "off_centre_mm"},
		{`{"board_mm":19,"joist_mm":45,"kerf_mm":3,"off_centre_mm":24}`, "off_centre_mm"},
		{`{"board_mm":19,"joist_mm":45,"kerf_mm":3,"off_centre_mm":-1e308}`, "off_centre_mm"},
		{`{"board_mm":19,"joist_mm":45,"kerf_mm":3,"off_center_mm":1}`, "off_center_mm"},
	}
	for _, tt := range tests {
		wantBad(t, "cut", tt.in, tt.field)
	}
}
