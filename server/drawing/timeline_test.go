package drawing

import (
	"strings"
	"testing"
	"time"

	"relevel/jobs"
	"relevel/levelling"
)

func track(id string, heights ...float64) jobs.Track {
	t := jobs.Track{Moving: jobs.Moving{ID: id}, From: time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)}
	for i, mm := range heights {
		t.Reads = append(t.Reads, jobs.ReadOn{On: t.From.AddDate(0, 6*i, 0), Figure: jobs.Figure{MM: mm, SD: 1.2}})
	}
	return t
}

func TestTimeLineGolden(t *testing.T) {
	falling, resting := track("B1-3", 4, -2, -7, -14), track("K & D", 0, 0.5, -0.5)
	scale := TimeScaleOf([]jobs.Track{falling, resting})
	golden(t, "timeline-moving", TimeLine(falling, "moving, down", scale, levelling.Millimetre))
	golden(t, "timeline-resting", TimeLine(resting, "not seen to move", scale, levelling.Millimetre))
	golden(t, "timeline-inches", TimeLine(falling, "moving, down", scale, levelling.Inch))
}

// A place that moved leaves the level line, one that did not stays within its ±, and
// whatever was read lies on the drawing.
func TestTimeLineOnOneScale(t *testing.T) {
	falling, resting := track("B1-3", 0, -6, -18), track("B1-4", 0, 0.4, -0.4)
	scale := TimeScaleOf([]jobs.Track{falling, resting})
	a, b := timeLine{falling, scale}, timeLine{resting, scale}
	level := a.at(falling.From, 0).y
	if end := a.at(falling.Reads[2].On, -18).y; end-level < 30 || end > timeHigh-timeBottom {
		t.Errorf("18 mm of fall are drawn %g px long, down to %g", end-level, end)
	}
	if end := b.at(resting.Reads[2].On, -0.4).y; end-level > 4 || b.at(resting.From, 0).y != level {
		t.Errorf("0.4 mm are drawn %g px long, from %g", end-level, b.at(resting.From, 0).y)
	}
	if x := a.at(falling.Reads[1].On, 0).x; x < timeLeft || x > timeWide-timeRight {
		t.Errorf("a reading lies at %g", x)
	}
}

func TestTimeLineOfLittle(t *testing.T) {
	if got := TimeLine(jobs.Track{}, "", TimeScale{}, levelling.Millimetre); got != "" {
		t.Errorf("drawn of nothing: %s", got)
	}
	one := track("B1-3", 7)
	got := TimeLine(one, "too early to say", TimeScaleOf([]jobs.Track{one}), levelling.Millimetre)
	if strings.Count(got, "<circle") != 1 || strings.Contains(got, "NaN") || strings.Count(got, "Mar 2026") != 1 {
		t.Errorf("of one reading: %s", got)
	}
}
