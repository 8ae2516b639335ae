package play

import (
	"testing"

	"relevel/cmd/relevel/demo"
	"relevel/jobs"
)

func TestDraw(t *testing.T) {
	h := demo.LongHall()
	at, numbers := map[string]float64{}, map[string]float64{}
	for _, s := range h.Plan.Supports {
		at[s.ID], numbers[s.ID] = s.X, h.HeightMM[s.ID]
	}
	for i, want := range []string{
		"══   0 ═══════════  −3 ═══════════  −6∩═══════════  −8 ════════════  −5 ═══════════  −2 ══",
		"══  −4 ═══════════  −9 ═══════════ −17 ═════════ −24 ‖−22 ═════════ −14 ═══════════  −6 ══",
	} {
		if got := draw(h.Plan.Bearers[i], at, numbers); got != want {
			t.Errorf("B%d\n got %s\nwant %s", i+1, got, want)
		}
	}
}

func TestHeight(t *testing.T) {
	f := &jobs.Figure{MM: -11.6, SD: 1.04}
	for _, tt := range []struct {
		name string
		s    jobs.Support
		want string
	}{
		{"Read", jobs.Support{Present: f, Basis: jobs.WasRead}, "−12 ±1.0 "},
		{"Expected", jobs.Support{Present: f, Basis: jobs.IsExpected}, "(−12 ±1.0)"},
		{"MovedBeside", jobs.Support{Present: f, Basis: jobs.WasRead, Stale: true}, "(−12 ±1.0)"},
		{"Unknown", jobs.Support{}, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := height(tt.s); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}
