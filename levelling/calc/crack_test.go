package calc

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

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
