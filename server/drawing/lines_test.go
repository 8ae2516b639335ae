package drawing

import (
	"encoding/xml"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

func TestStringLinesGolden(t *testing.T) {
	golden(t, "lines", StringLines(everyState(), testOptions(0)))
	golden(t, "lines-turned", StringLines(everyState(), testOptions(1)))
}

// corners reads the places of a path of straight lines.
func corners(t *testing.T, e xml.StartElement) []point {
	t.Helper()
	var all []point
	for _, pair := range strings.FieldsFunc(attr(e, "d"), func(r rune) bool { return r == 'M' || r == 'L' }) {
		var p point
		if _, err := fmt.Sscanf(pair, "%g %g", &p.x, &p.y); err != nil {
			t.Fatalf("path %q: %v", attr(e, "d"), err)
		}
		all = append(all, p)
	}
	return all
}

// withClass are the paths of a drawing whose class begins with one.
func withClass(t *testing.T, svg, class string) [][]point {
	var all [][]point
	for _, e := range parse(t, svg) {
		if e.Name.Local == "path" && strings.HasPrefix(attr(e, "class"), class) {
			all = append(all, corners(t, e))
		}
	}
	return all
}

// The lines pass through the heights: read back from the drawing with the scale
// it states, each corner is the height of its support.
func TestStringLinesThroughHeights(t *testing.T) {
	p := everyState()
	for turn := range 4 {
		svg := StringLines(p, testOptions(turn))
		if bad := noNumber.FindString(svg); bad != "" {
			t.Errorf("turn %d: a coordinate is no number: %s", turn, bad)
		}
		_, after, _ := strings.Cut(svg, "heights drawn ×")
		text, _, _ := strings.Cut(after, "\"")
		times, err := strconv.ParseFloat(text, 64)
		if err != nil || times <= 1 {
			t.Fatalf("turn %d: the drawing states no exaggeration: %q", turn, text)
		}
		l := newLayout(p, turn)
		up := point{0, -1} // across bearers that lie
		if turn%2 == 1 {
			up = point{-1, 0}
		}
		k := times * l.scale / 1000
		for class, of := range map[string]func(jobs.Support) *jobs.Figure{
			"now":     func(s jobs.Support) *jobs.Figure { return s.Present },
			"asfound": func(s jobs.Support) *jobs.Figure { return s.AsFound },
		} {
			var read []point
			for _, path := range withClass(t, svg, class) {
				read = append(read, path...)
			}
			for _, s := range p.Supports {
				if f := of(s); f != nil && !s.NoneHere && !near(read, l.supports[s.ID], up, (f.MM-1500)*k) {
					t.Errorf("turn %d: no corner of %s is the height %g of %s", turn, class, f.MM, s.ID)
				}
			}
		}
	}
}

// near reports whether one of the places lies by so much across from a foot.
func near(read []point, foot, up point, by float64) bool {
	for _, q := range read {
		if math.Hypot(q.x-foot.x-by*up.x, q.y-foot.y-by*up.y) < 0.1 {
			return true
		}
	}
	return false
}

func TestNothingAcrossButtedJoin(t *testing.T) {
	p := everyState()
	d := newLines(p, 0)
	for _, class := range []string{"now", "asfound", "target", "axis"} {
		for _, path := range withClass(t, StringLines(p, testOptions(0)), class) {
			for i := 1; i < len(path); i++ {
				a, b := path[i-1], path[i]
				left, right := d.l.supports["B2-4"], d.l.supports["B2-5"]
				if math.Abs(a.y-left.y) < 60 && a.x < left.x+1 && b.x > right.x-1 {
					t.Errorf("%s runs across the butted join: %v to %v", class, a, b)
				}
			}
		}
	}
}

// What is expected is drawn otherwise than what was read.
func TestStringLinesExpected(t *testing.T) {
	target := 0.0
	p := jobs.Picture{Plan: events.Plan{Bearers: []events.Bearer{{ID: "B", Supports: []string{"a", "b", "c"}}}}}
	for i, id := range []string{"a", "b", "c"} {
		p.Supports = append(p.Supports, jobs.Support{
			ID: id, X: float64(2 * i), Target: &target, Present: &jobs.Figure{MM: -9, SD: 1}, Basis: jobs.WasRead,
			Remaining: &jobs.Figure{MM: 9, SD: 1},
		})
	}
	if n := len(withClass(t, StringLines(p, Options{}), "now expected")); n != 0 {
		t.Errorf("read throughout, and %d stretches are drawn as expected", n)
	}
	p.Supports[2].Basis = jobs.IsExpected
	svg := StringLines(p, Options{})
	if n := len(withClass(t, svg, "now expected")); n != 1 || !strings.Contains(svg, `class="number expected"`) {
		t.Errorf("%d stretches are drawn as expected, want the last one, and its number in pencil", n)
	}
	p.Supports[2].Basis, p.Supports[1].Stale = jobs.WasRead, true
	if n := len(withClass(t, StringLines(p, Options{}), "now expected")); n != 1 {
		t.Errorf("beside a support that moved %d stretches are drawn as expected, want one of both", n)
	}
}

// sloping is a floor of parallel bearers in any direction, each with its own
// ups and downs.
func sloping(bearers, each int, apartM, deg float64) jobs.Picture {
	var p jobs.Picture
	sin, cos := math.Sincos(deg * math.Pi / 180)
	for b := range bearers {
		bearer := events.Bearer{ID: fmt.Sprintf("B%d", b+1)}
		for i := range each {
			along, off := 1.6*float64(i), apartM*float64(b)
			s := jobs.Support{
				ID: fmt.Sprintf("B%d-%d", b+1, i+1), X: along*cos - off*sin, Y: along*sin + off*cos, Basis: jobs.WasRead,
				Present: &jobs.Figure{MM: float64((b*13+i*7)%41) - 20, SD: 1}, AsFound: &jobs.Figure{MM: float64((b*5+i*11)%67) - 60, SD: 1},
			}
			p.Supports = append(p.Supports, s)
			bearer.Supports = append(bearer.Supports, s.ID)
		}
		p.Plan.Bearers = append(p.Plan.Bearers, bearer)
	}
	return p
}

// Lines of neighbouring bearers do not cross, however close these lie and
// whichever way they run.
func TestStringLinesApart(t *testing.T) {
	for _, apartM := range []float64{0.3, 0.9, 2.2} {
		for _, deg := range []float64{0, 30, 68, 90, 135} {
			for turn := range 4 {
				d := newLines(sloping(6, 10, apartM, deg), turn)
				if d.times < 1 {
					t.Errorf("%g m apart at %g°: heights drawn ×%g", apartM, deg, d.times)
				}
				for i, a := range d.lines {
					for _, b := range d.lines[i+1:] {
						gap := d.gap(a, b)
						low, high := d.acrossPX(b, a.up)
						if from, till := d.acrossPX(a, a.up); gap > 0 && low <= till || gap < 0 && from <= high || gap == 0 {
							t.Fatalf("%g m apart at %g°, turn %d: the lines of %s and %s meet", apartM, deg, turn, a.b.ID, b.b.ID)
						}
					}
				}
			}
		}
	}
}

// acrossPX is what a bearer's lines cover across a direction.
func (d lines) acrossPX(b line, up point) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, s := range b.supports {
		for _, h := range heightsOf(s) {
			p := d.at(b, s, h)
			low, high = min(low, p.x*up.x+p.y*up.y), max(high, p.x*up.x+p.y*up.y)
		}
	}
	return low, high
}

// 5 to 60 supports and the largest floor there may be stay one small drawing.
func TestStringLinesSizes(t *testing.T) {
	for _, each := range [][2]int{{1, 5}, {4, 7}, {6, 10}, {20, 20}} {
		svg := StringLines(sloping(each[0], each[1], 1.8, 0), testOptions(0))
		n := each[0] * each[1]
		if elements := len(parse(t, svg)); elements > 12*n+80 {
			t.Errorf("%d supports take %d elements", n, elements)
		}
		if noNumber.MatchString(svg) {
			t.Errorf("%d supports: a coordinate is no number", n)
		}
	}
}
