package drawing_test

import (
	"strings"
	"testing"
	"time"

	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/drawing"
)

// The line of a gap has its nought at the foot: twice as wide is twice as high.
func TestGapLine(t *testing.T) {
	begin := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	limit := 4.0
	w := jobs.WatchedGap{Name: "by the <door>", LimitMM: &limit, Readings: []jobs.GapWidth{{At: begin, MM: 1}, {At: begin.AddDate(0, 0, 10), MM: 2}, {At: begin.AddDate(0, 0, 20), MM: 5}}}
	svg := drawing.GapLine(w, time.UTC, levelling.Millimetre)
	// 54 px for 5 mm above a foot at 72: 61.2, 50.4 and 18; the limit at 28.8.
	for _, want := range []string{`d="M44 61.2L150 50.4L256 18"`, `y1="28.8"`, `class="number past"`, ">5<", "2 Mar", "22 Mar", "by the &lt;door&gt;"} {
		if !strings.Contains(svg, want) {
			t.Errorf("no %q in %s", want, svg)
		}
	}
	w.Readings = w.Readings[:1]
	if got := drawing.GapLine(w, time.UTC, levelling.Millimetre); got != "" {
		t.Errorf("one reading is no line: %s", got)
	}
	if got := drawing.GapLine(jobs.WatchedGap{}, time.UTC, levelling.Millimetre); got != "" {
		t.Errorf("no reading is no line: %s", got)
	}
}
