package calc

import (
	"bytes"
	"encoding/json"
	"errors"
	"regexp"
	"strings"
	"testing"

	"relevel/levelling"
)

var minusZero = regexp.MustCompile(`[:,\[]-0[,}\]]`)

// FuzzRun feeds anything to every calculator: it answers with one JSON object
// or with one line that names a field and its cure, and never panics.
func FuzzRun(f *testing.F) {
	for _, c := range calculators {
		f.Add(c.name, []byte(c.example))
	}
	f.Add("aim", []byte(`{"points":[{"id":"A","x_m":-1e308,"y_m":0,"height_mm":1e308,"max_lower_mm":1.7e308},{"id":"B","x_m":1e308,"y_m":1e-320,"height_mm":-1e308,"max_lift_mm":1e308}],`+
		`"aim":"least","margin_mm":1e-320,"limits":[{"kind":"pair","over_m":1.7e308,"rule":"linear","table":[[0,1e308],[1e308,1.7e308]]},{"kind":"range","limit_mm":1e308}]}`))
	f.Add("aim", []byte(`{"points":[{"id":"A\n","x_m":1e308,"y_m":1e308,"height_mm":0,"fixed":true},{"id":"B","x_m":0,"y_m":0,"height_mm":0}],"aim":"plane","plane":{"x_mm_per_m":1e308,"y_mm_per_m":-1e308}}`))
	f.Add("bearer", []byte(`{"spans_m":[1e-150,1e150,3],"ei_knm2":[1e150,1e-150,1],"udl_kn_m":-1e-320,"point_loads":[{"span":3,"at_m":3,"load_kn":1e300}],`+
		`"supports":[{"raise_mm":1.7e308},{"raise_mm":-1.7e308,"stiffness_kn_mm":1e-320},{"raise_mm":-0},{"raise_mm":0}],"joins":[2,3],"one_way":true}`))
	f.Add("crack", []byte(`{"width_mm":-0}`))
	f.Add("cut", []byte(`{"board_mm":1e308,"joist_mm":1.7e308,"kerf_mm":1e308,"off_centre_mm":-1e308}`))
	f.Add("cut", []byte(`{"board_mm":1e-320,"joist_mm":45,"kerf_mm":3,"off_centre_mm":-23.9}`))
	f.Add("book", []byte(`{"unit":"ft","start":{"point":"A","height":1e308},"rows":[{"setup":"1","point":"A","bs":-1e308},{"setup":"1","point":"<&>","fs":1e308}]}`))
	f.Add("packer", []byte(`{"gap_mm":1e6,"bedding_mm":1e-6,"stock_mm":[1e308,1e-320,8.466666666666667,0.3],"max_pieces":10000,"within_mm":1e308}`))
	f.Add("packer", []byte(`{"gap_mm":99.9999,"stock_mm":[0.0003,49.0001,0.07],"max_pieces":9999,"within_mm":0}`))
	f.Add("loads", []byte(`{"floor":{"area_m2":1e308,"dead_kpa":1e308,"live_kpa":-0},"roof":{"area_m2":0,"dead_kpa":1e308,"live_kpa":1e-320},`+
		`"walls":[{"run_m":1e308,"height_m":1e308,"dead_kpa":0}],"continuity":1e-320,"jack_live_kpa":1e308}`))
	f.Add("pad", []byte(`{"load_kn":1e-320,"soil_kpa":1e308,"thickness_mm":1e308,"concrete_kn_m3":1e-320}`))
	f.Add("vents", []byte(`{"rule":"uk-c","zone":"A","sealed":true,"wall_m":1e308,"floor_m2":1e308,"vents_mm2":[1e308,-0]}`))
	f.Add("jack", []byte(`{"bore_mm":1e-320,"pressure_mpa":1e308,"rated_kn":1e-320}`))
	f.Add("shrink", []byte(`{"thickness_mm":1e308,"species":"red-oak","grain":"tangential","from_pct":-0,"to_pct":1e308}`))
	f.Add("tolerance", []byte(`{"limits":[{"kind":"pair","over_m":1.7e308,"rule":"linear","table":[[0,1e308],[1e308,1e-320]]},{"kind":"range","limit_mm":1e-320}],`+
		`"points":[{"id":"A\n","x_m":1e150,"y_m":-1e150,"height_mm":1e150,"sd_mm":1e150},{"id":"B","x_m":-0,"y_m":1e-320,"height_mm":-1e150}]}`))
	f.Add("tolerance", []byte(`{"profile":"din-18202-t3-4","points":[{"id":"A","x_m":-1e150,"y_m":0,"height_mm":1e150,"sd_mm":1e-320},`+
		`{"id":"B","x_m":1e150,"y_m":0,"height_mm":-1e150},{"id":"C","x_m":0,"y_m":0,"height_mm":-0,"sd_mm":1e150}]}`))
	f.Fuzz(func(t *testing.T, name string, in []byte) {
		out, err := Run(name, in)
		if err != nil {
			checkRefusal(t, out, err)
			return
		}
		checkAnswer(t, out)
	})
}

func checkRefusal(t *testing.T, out []byte, err error) {
	t.Helper()
	if out != nil {
		t.Errorf("printed %s beside %v", out, err)
	}
	if strings.ContainsAny(err.Error(), "\r\n") {
		t.Errorf("more than one line: %q", err)
	}
	if errors.Is(err, ErrUnknown) {
		return
	}
	var bad *levelling.InputError
	if !errors.As(err, &bad) || bad.Field == "" || bad.Cure == "" {
		t.Errorf("%v names no field and cure", err)
	}
}

func checkAnswer(t *testing.T, out []byte) {
	t.Helper()
	var object map[string]any
	if err := json.Unmarshal(out, &object); err != nil || bytes.ContainsRune(out, '\n') {
		t.Errorf("printed %q, not one JSON object on a line: %v", out, err)
	}
	if minusZero.Match(out) {
		t.Errorf("printed a minus zero: %s", out)
	}
}
