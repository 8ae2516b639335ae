package server_test

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"relevel/jobs"
)

// sight is a set-up of a level run: what the staff reads on a point whose
// height is known, and on the points after it. The last of these may carry the
// next set-up.
type sight struct {
	on    string
	back  float64
	after []booked
}

type booked struct {
	point string
	staff float64
}

// levelRun is a published run. Heights and readings are in its unit.
type levelRun struct {
	unit   string
	datum  string
	height float64
	sights []sight
	want   map[string]float64
}

// The runs of section 1 of the table of check values.
var levelRuns = map[string]levelRun{
	// Course sheet "ACET108 Levelling example", m.
	"ThreeSetups": {"m", "TBM", 50, []sight{
		{"TBM", 1.400, []booked{{"A", 1.235}, {"B", 1.870}}},
		{"B", 1.355, []booked{{"C", 3.340}, {"D", 1.975}}},
		{"D", 0.585, []booked{{"E", 0.855}}},
	}, map[string]float64{"A": 50.165, "B": 49.530, "C": 47.545, "D": 48.910, "E": 48.640}},
	// A worked field-notes answer, ft; the known height of BM B is 94.91.
	"MisclosureInFeet": {"ft", "BM A", 100, []sight{
		{"BM A", 3.10, []booked{{"TP1", 9.82}}},
		{"TP1", 6.44, []booked{{"TP2", 6.96}}},
		{"TP2", 8.76, []booked{{"TP3", 3.27}}},
		{"TP3", 7.12, []booked{{"BM B", 10.42}}},
	}, map[string]float64{"BM B": 94.95}},
	// An exercise of an underground-levelling textbook, m.
	"InvertedStaff": {"m", "BM", 160.528, []sight{
		{"BM", 2.185, []booked{{"A", -3.045}, {"B", -1.276}, {"C", -3.412}, {"D", 2.508}}},
	}, map[string]float64{"A": 165.758, "B": 163.989, "C": 166.125, "D": 160.205}},
	// A teaching example, m.
	"InvertedAtBothEnds": {"m", "A", 101.50, []sight{
		{"A", -2.25, []booked{{"B", 1.05}}},
		{"B", 1.35, []booked{{"C", -4.100}}},
	}, map[string]float64{"B": 98.20, "C": 103.65}},
	"RoofToGround": {"m", "roof", 100, []sight{
		{"roof", -3.500, []booked{{"ground", 1.200}}},
	}, map[string]float64{"ground": 95.30}},
	"FloorToTruss": {"m", "floor", 36, []sight{
		{"floor", 1.40, []booked{{"truss", -3.67}}},
	}, map[string]float64{"truss": 41.07}},
	// US Navy NAVEDTRA 14081, ft.
	"Navy": {"ft", "BM", 233.0, []sight{
		{"BM", 4.0, []booked{{"fill", 4.5}}},
	}, map[string]float64{"fill": 232.5}},
	// The page this is from books the last leg as a fall, prints 100.415 for C,
	// and fails its own arithmetic check. Its readings give 101.305.
	"WrongAsPublished": {"m", "BM", 100, []sight{
		{"BM", 1.855, []booked{{"A", 2.410}, {"B", 1.280}, {"CP", 0.995}}},
		{"CP", 2.165, []booked{{"C", 1.720}}},
	}, map[string]float64{"A": 99.445, "B": 100.575, "CP": 100.860, "C": 101.305}},
}

func TestLevelRuns(t *testing.T) {
	c := newSite(t).firm("Level Best")
	for name, run := range levelRuns {
		t.Run(name, func(t *testing.T) {
			p := run.enter(t, c)
			if len(p.SetAside) != 0 || len(p.Flags) != 0 {
				t.Errorf("set aside %+v, flagged %+v; want nothing", p.SetAside, p.Flags)
			}
			for point, want := range run.want {
				// Half of the last printed digit, a thousandth at most.
				if got := run.heightOf(t, p, point); math.Abs(got-want) > 0.0005 {
					t.Errorf("%s is at %.4f %s, want %.3f", point, got, run.unit, want)
				}
			}
		})
	}
}

// enter records a run on a new job as a phone would.
func (run levelRun) enter(t *testing.T, c *caller) jobs.Picture {
	t.Helper()
	job := c.newJob()
	d := newDevice(t, job)
	raws := []string{d.raw("plan", run.plan())}
	for _, s := range run.sights {
		setup, opened := d.event("setup", fmt.Sprintf(`{"instrument":"level","datums":[{"datum":%q,"staff":%s}]}`, s.on, run.length(s.back)))
		raws = append(raws, opened)
		for _, b := range s.after {
			raws = append(raws, d.raw("reading", fmt.Sprintf(`{"setup":"%s","point":%q,"face":"floor","staff":%s}`, setup, b.point, run.length(b.staff))))
		}
	}
	c.post(job, raws...)
	return c.state(job)
}

func (run levelRun) length(v float64) string {
	return fmt.Sprintf(`{"value":%g,"unit":%q}`, v, run.unit)
}

// plan has every point of the run as a spot, and its start as a datum.
func (run levelRun) plan() string {
	var spots []string
	for _, s := range run.sights {
		for i, b := range s.after {
			spots = append(spots, fmt.Sprintf(`{"id":%q,"x":%d,"y":0}`, b.point, i))
		}
	}
	return fmt.Sprintf(`{"datums":[{"id":%q,"x":0,"y":0,"height":%s}],"spots":[%s]}`,
		run.datum, run.length(run.height), strings.Join(spots, ","))
}

func (run levelRun) heightOf(t *testing.T, p jobs.Picture, point string) float64 {
	t.Helper()
	for _, s := range p.Spots {
		if s.ID == point && s.Present != nil {
			return s.Present.MM / map[string]float64{"m": 1000, "ft": 304.8}[run.unit]
		}
	}
	t.Fatalf("%s has no height", point)
	return 0
}

// The Navy's example has the shape of the main figure: what is wanted less what
// is there is what remains to be lifted, 6.5 ft.
func TestRemainingLift(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	c.post(job,
		d.raw("plan", `{"datums":[{"id":"BM","x":0,"y":0,"height":{"value":233,"unit":"ft"}}],"supports":[{"id":"P1","x":1,"y":1}]}`),
		d.raw("aim", `{"aim":"level","height":{"value":239,"unit":"ft"},"agreed_by":"the owner"}`))
	setup, opened := d.event("setup", `{"instrument":"level","datums":[{"datum":"BM","staff":{"value":4,"unit":"ft"}}]}`)
	got := c.post(job, opened,
		d.raw("reading", fmt.Sprintf(`{"setup":"%s","point":"P1","face":"floor","staff":{"value":4.5,"unit":"ft"}}`, setup)))
	if len(got.Supports) != 1 || got.Supports[0].Remaining == nil {
		t.Fatalf("supports = %s, want P1 with what remains", mustJSON(t, got.Supports))
	}
	if ft := got.Supports[0].Remaining.MM / 304.8; math.Abs(ft-6.5) > 1e-9 {
		t.Errorf("%.6f ft remain, want 6.5", ft)
	}
}

func mustJSON(t *testing.T, v any) string {
	t.Helper()
	b, err := json.Marshal(v)
	must(t, err)
	return string(b)
}
