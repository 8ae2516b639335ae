package calc

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Course sheet "ACET108 Levelling example" (read, computed), letter for letter.
func TestBook(t *testing.T) {
	in := `{"unit":"m","start":{"point":"TBM","height":50},"end":{"point":"E","height":48.64},"rows":[
		{"setup":"1","point":"TBM","bs":1.4},{"setup":"1","point":"A","is":1.235},{"setup":"1","point":"B","fs":1.87},
		{"setup":"2","point":"B","bs":1.355},{"setup":"2","point":"C","is":3.34},{"setup":"2","point":"D","fs":1.975},
		{"setup":"3","point":"D","bs":0.585},{"setup":"3","point":"E","fs":0.855}]}`
	want := strings.Join([]string{
		`{"points":[{"setup":"1","point":"TBM","hi":51.4,"height":50}`,
		`{"setup":"1","point":"A","hi":51.4,"height":50.165,"rise":0.165}`,
		`{"setup":"1","point":"B","hi":51.4,"height":49.53,"fall":0.635}`,
		`{"setup":"2","point":"B","hi":50.885,"height":49.53}`,
		`{"setup":"2","point":"C","hi":50.885,"height":47.545,"fall":1.985}`,
		`{"setup":"2","point":"D","hi":50.885,"height":48.91,"rise":1.365}`,
		`{"setup":"3","point":"D","hi":49.495,"height":48.91}`,
		`{"setup":"3","point":"E","hi":49.495,"height":48.64,"fall":0.27}]`,
		`"sum_bs":3.34,"sum_fs":4.7,"sum_rise":1.53,"sum_fall":2.89,"balanced":true,"misclosure":0}`,
	}, ",")
	got, err := Run("book", []byte(in))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, string(got)); diff != "" {
		t.Errorf("book (-want +got):\n%s", diff)
	}
}

// A worked field-notes answer (ft; read, computed): computed − known is +0.04.
func TestBookMisclosure(t *testing.T) {
	got := answer(t, "book", `{"unit":"ft","start":{"point":"BM A","height":100},"end":{"point":"BM B","height":94.91},"rows":[
		{"setup":"1","point":"BM A","bs":3.1},{"setup":"1","point":"TP1","fs":9.82},
		{"setup":"2","point":"TP1","bs":6.44},{"setup":"2","point":"TP2","fs":6.96},
		{"setup":"3","point":"TP2","bs":8.76},{"setup":"3","point":"TP3","fs":3.27},
		{"setup":"4","point":"TP3","bs":7.12},{"setup":"4","point":"BM B","fs":10.42}]}`)
	if got["misclosure"] != 0.04 || got["balanced"] != true {
		t.Errorf("misclosure %v, balanced %v", got["misclosure"], got["balanced"])
	}
}

// m and ft keep five decimals, mm three; a level pair of readings is a rise of 0.
func TestBookRounding(t *testing.T) {
	rows := `"start":{"point":"A","height":0},"rows":[{"setup":"1","point":"A","bs":1.2345678},{"setup":"1","point":"B","is":1.2345678},{"setup":"1","point":"C","fs":1}]}`
	for unit, hi := range map[string]float64{"m": 1.23457, "ft": 1.23457, "mm": 1.235} {
		got := answer(t, "book", `{"unit":"`+unit+`",`+rows)
		level := map[string]any{"setup": "1", "point": "B", "hi": hi, "height": 0.0, "rise": 0.0}
		if diff := cmp.Diff(level, got["points"].([]any)[1]); diff != "" {
			t.Errorf("%s (-want +got):\n%s", unit, diff)
		}
		if _, there := got["misclosure"]; there {
			t.Errorf("%s: a misclosure without an end", unit)
		}
	}
}

func TestBookStartAnywhere(t *testing.T) {
	got := answer(t, "book", `{"unit":"m","start":{"point":"C","height":103.65},"end":null,"rows":[
		{"setup":"1","point":"A","bs":-2.25,"is":null},{"setup":"1","point":"B","fs":1.05},
		{"setup":"2","point":"B","bs":1.35},{"setup":"2","point":"C","fs":-4.1}]}`)
	var heights []any
	for _, p := range got["points"].([]any) {
		heights = append(heights, p.(map[string]any)["height"])
	}
	// Inverted at both ends (m; read, computed), carried backwards from C.
	if diff := cmp.Diff([]any{101.5, 98.2, 98.2, 103.65}, heights); diff != "" {
		t.Errorf("heights (-want +got):\n%s", diff)
	}
}

func TestBookBadInput(t *testing.T) {
	const (
		start = `"start":{"point":"A","height":1}`
		row   = `{"setup":"1","point":"A","bs":1}`
	)
	with := func(unit, start, rows string) string {
		return `{"unit":` + unit + `,` + start + `,"rows":` + rows + `}`
	}
	tests := []struct{ name, in, field string }{
		{"nothing", `{}`, "unit"},
		{"unit missing", `{` + start + `,"rows":[` + row + `]}`, "unit"},
		{"unit unknown", with(`"yd"`, start, `[`+row+`]`), "unit"},
		{"unit a number", with(`1`, start, `[`+row+`]`), "unit"},
		{"start missing", `{"unit":"m","rows":[` + row + `]}`, "start"},
		{"start a name", with(`"m"`, `"start":"A"`, `[`+row+`]`), "start"},
		{"start without a point", with(`"m"`, `"start":{"height":1}`, `[`+row+`]`), "start.point"},
		{"start without a height", with(`"m"`, `"start":{"point":"A"}`, `[`+row+`]`), "start.height"},
		{"start with more", with(`"m"`, `"start":{"point":"A","height":1,"sd":1}`, `[`+row+`]`), "start.sd"},
		{"start not in the run", with(`"m"`, `"start":{"point":"Z","height":1}`, `[`+row+`]`), "start.point"},
		{"end without a height", with(`"m"`, start+`,"end":{"point":"A"}`, `[`+row+`]`), "end.height"},
		{"end not in the run", with(`"m"`, start+`,"end":{"point":"Z","height":1}`, `[`+row+`]`), "end.point"},
		{"rows missing", `{"unit":"m",` + start + `}`, "rows"},
		{"rows empty", with(`"m"`, start, `[]`), "rows"},
		{"rows an object", with(`"m"`, start, row), "rows"},
		{"a row a list", with(`"m"`, start, `[`+row+`,[]]`), "rows[1]"},
		{"a row null", with(`"m"`, start, `[null]`), "rows[0]"},
		{"set-up missing", with(`"m"`, start, `[{"point":"A","bs":1}]`), "rows[0].setup"},
		{"set-up a number", with(`"m"`, start, `[{"setup":1,"point":"A","bs":1}]`), "rows[0].setup"},
		{"set-up empty", with(`"m"`, start, `[{"setup":"","point":"A","bs":1}]`), "rows[0].setup"},
		{"point missing", with(`"m"`, start, `[{"setup":"1","bs":1}]`), "rows[0].point"},
		{"reading missing", with(`"m"`, start, `[`+row+`,{"setup":"1","point":"B"}]`), "rows[1].bs"},
		{"reading text", with(`"m"`, start, `[`+row+`,{"setup":"1","point":"B","fs":"1"}]`), "rows[1].fs"},
		{"two readings", with(`"m"`, start, `[`+row+`,{"setup":"1","point":"B","is":1,"fs":2}]`), "rows[1].fs"},
		{"row with more", with(`"m"`, start, `[{"setup":"1","point":"A","bs":1,"hi":2}]`), "rows[0].hi"},
		{"no bs", with(`"m"`, start, `[{"setup":"1","point":"A","is":1}]`), "rows[0].is"},
		{"not connected", with(`"m"`, start, `[`+row+`,{"setup":"2","point":"B","bs":1}]`), "rows[1].point"},
		{"overflow", with(`"m"`, `"start":{"point":"A","height":1.7e308}`, `[{"setup":"1","point":"A","bs":1.7e308}]`), "rows[0].bs"},
		{"a name with a line break", with(`"m"`, `"start":{"point":"Z\n","height":1}`, `[`+row+`]`), "start.point"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { wantBad(t, "book", tt.in, tt.field) })
	}
}
