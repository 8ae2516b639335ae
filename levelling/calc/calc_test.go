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

// What could hurt somebody carries a caution, what rests on a published rule its
// source.
func TestCautionsAndSources(t *testing.T) {
	for words, names := range map[string][]string{
		"caution": {"bearer", "cut", "jack", "loads", "packer", "pad", "rounds"},
		"source":  {"crack", "shrink", "tolerance", "vents"},
	} {
		for _, name := range names {
			c, err := find(name)
			if err != nil {
				t.Fatal(err)
			}
			if said, _ := answer(t, name, c.example)[words].(string); said == "" {
				t.Errorf("%s has no %s", name, words)
			}
		}
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
