package calc

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

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
