package drawing

import (
	"encoding/xml"
	"flag"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

var update = flag.Bool("update", false, "write the drawings anew")

// golden compares a drawing with the one that somebody has looked at.
func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name+".svg")
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s (-want +got; look at it, then run with -update):\n%s", name, diff)
	}
}

// parse fails the test unless a drawing is well-formed XML, and returns its elements.
func parse(t *testing.T, svg string) []xml.StartElement {
	t.Helper()
	var all []xml.StartElement
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		token, err := d.Token()
		if err == io.EOF {
			return all
		}
		if err != nil {
			t.Fatalf("not well-formed: %v in %.400s", err, svg)
		}
		if e, ok := token.(xml.StartElement); ok {
			all = append(all, e.Copy())
		}
	}
}

func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func TestFloorGolden(t *testing.T) {
	golden(t, "floor", Floor(everyState(), testOptions(0)))
	golden(t, "floor-turned", Floor(everyState(), testOptions(1)))
}

func TestSectionGolden(t *testing.T) {
	for _, id := range []string{"B1-1", "B1-3", "B1-4", "B1-6", "B2-2", "B2-3"} {
		s, ok := everyState().Support(id)
		if !ok {
			t.Fatalf("no support %s", id)
		}
		golden(t, "section-"+id, Section(s, "B1", testOptions(0)))
	}
}

func TestStringLineGolden(t *testing.T) {
	p := everyState()
	golden(t, "stringline", StringLine(p, p.Plan.Bearers[1], testOptions(0)))
}

var noNumber = regexp.MustCompile(`NaN|Inf|="-?\d*\.?\d*e[+-]`)

// Every support is on the plan once, with its title and room for a thumb,
// however the drawing is turned.
func TestFloor(t *testing.T) {
	p := everyState()
	for turn := range 4 {
		svg := Floor(p, testOptions(turn))
		seen := map[string]int{}
		for _, e := range parse(t, svg) {
			if id := attr(e, "data-support"); id != "" {
				seen[id]++
				s, _ := p.Support(id)
				if got := attr(e, "aria-label"); got != Title(s, testOptions(turn).Words) {
					t.Errorf("turn %d: %s is called %q, want %q", turn, id, got, Title(s, testOptions(turn).Words))
				}
			}
			if attr(e, "class") == "touch" {
				w, _ := strconv.ParseFloat(attr(e, "width"), 64)
				h, _ := strconv.ParseFloat(attr(e, "height"), 64)
				if w < touch || h < touch {
					t.Errorf("turn %d: a support takes %g by %g px of thumb, want %g", turn, w, h, touch)
				}
			}
		}
		for _, s := range p.Supports {
			if seen[s.ID] != 1 {
				t.Errorf("turn %d: %s is drawn %d times", turn, s.ID, seen[s.ID])
			}
		}
		if bad := noNumber.FindString(svg); bad != "" {
			t.Errorf("turn %d: a coordinate is no number: %s", turn, bad)
		}
	}
}

// What is written at one support covers neither another's writing nor its post.
func TestLabelsApart(t *testing.T) {
	for name, r := range map[string]Round{"Plain": {}, "Round": everySign(everyState())} {
		t.Run(name, func(t *testing.T) { labelsApart(t, r) })
	}
}

func labelsApart(t *testing.T, r Round) {
	p := everyState()
	for turn := range 4 {
		l := newLayout(p, turn)
		taken := &crowd{}
		posts := l.posts(&canvas{}, p, r, taken)
		type written struct {
			id string
			at box
		}
		var all []written
		for _, post := range posts {
			lb := labelOf(post.s, signedBy(post.s, testOptions(0)), levelling.Millimetre)
			bs := lb.boxes(taken.place(lb, lb.placings(post.at, post.extent(), l.upright[post.s.ID], post.side, post.pair)))
			all = append(all, written{post.s.ID, bs[0]}, written{post.s.ID, bs[1]})
		}
		for i, a := range all {
			for _, b := range all[i+1:] {
				if a.id != b.id && a.at.common(b.at) > 0 {
					t.Errorf("turn %d: what is written at %s and %s overlaps by %.0f px²", turn, a.id, b.id, a.at.common(b.at))
				}
			}
			for _, post := range posts {
				if o := a.at.common(post.extent()); a.id != post.s.ID && o > 0 {
					t.Errorf("turn %d: what is written at %s covers the post of %s by %.0f px²", turn, a.id, post.s.ID, o)
				}
			}
		}
	}
}

// A drawing is turned, never mirrored: going round three supports keeps its sense.
func TestNeverMirrored(t *testing.T) {
	p := jobs.Picture{Supports: []jobs.Support{{ID: "a"}, {ID: "b", X: 3}, {ID: "c", X: 3, Y: 2}}}
	for turn := -4; turn < 8; turn++ {
		l := newLayout(p, turn)
		a, b, c := l.supports["a"], l.supports["b"], l.supports["c"]
		if cross := (b.x-a.x)*(c.y-a.y) - (b.y-a.y)*(c.x-a.x); cross >= 0 {
			t.Errorf("turn %d: the drawing is mirrored", turn)
		}
	}
}

func TestNamesEscaped(t *testing.T) {
	const evil = `<script>"&'`
	p := jobs.Picture{
		Plan: events.Plan{
			Supports: []events.Support{{ID: evil}}, Rooms: []events.Room{{Name: evil, Outline: []events.Position{{0, 0}, {4, 0}, {4, 4}}}},
			Bearers: []events.Bearer{{ID: evil, Supports: []string{evil, "b"}}},
		},
		Supports: []jobs.Support{{ID: evil, Doubt: evil, ToGo: evil, Present: &jobs.Figure{}}, {ID: "b", X: 2, Present: &jobs.Figure{}}},
		Spots:    []jobs.Spot{{ID: evil}}, Datums: []jobs.Datum{{ID: evil, StandsOn: evil}},
	}
	o := testOptions(0)
	o.Initials = func(events.ID) string { return evil }
	drawings := map[string]string{
		"floor": Floor(p, o), "section": Section(p.Supports[0], evil, o), "small": Small(p),
		"string line": StringLine(p, p.Plan.Bearers[0], o),
	}
	for name, svg := range drawings {
		if svg == "" || strings.Contains(svg, "<script") {
			t.Errorf("%s lets a name out as it is, or is empty: %.200s", name, svg)
		}
		parse(t, svg)
	}
}

// A plan may be empty, all on one spot, or name supports that are not there.
func TestOddPlans(t *testing.T) {
	plans := map[string]jobs.Picture{
		"Empty":     {},
		"One":       {Supports: []jobs.Support{{ID: "a", X: 5, Y: 5}}},
		"OneSpot":   {Supports: []jobs.Support{{ID: "a"}, {ID: "b"}, {ID: "c"}}},
		"Unknown":   {Plan: events.Plan{Bearers: []events.Bearer{{ID: "B", Supports: []string{"x", "y"}}, {ID: "C"}}}},
		"NoOutline": {Plan: events.Plan{Rooms: []events.Room{{Name: "hall"}}, Doors: []events.Thing{{}}, Hatches: []events.Thing{{}}, Fixed: []events.Thing{{}}}},
	}
	for name, p := range plans {
		t.Run(name, func(t *testing.T) {
			for turn := range 4 {
				svg := Floor(p, Options{Turn: turn})
				parse(t, svg)
				if bad := noNumber.FindString(svg); bad != "" {
					t.Errorf("a coordinate is no number: %s", bad)
				}
			}
			parse(t, Small(p))
		})
	}
}

func TestKey(t *testing.T) {
	for _, e := range Key(jobs.Australia.Words()) {
		parse(t, e.SVG)
		if e.Means == "" {
			t.Error("a drawing of the key means nothing")
		}
	}
}

// Every figure of a drawing is in the unit that is asked for.
func TestUnits(t *testing.T) {
	p := everyState()
	for unit, want := range map[levelling.Unit]string{levelling.Millimetre: ">+17<", levelling.Inch: ">+11⁄16″<", levelling.Foot: ">+0.06<"} {
		o := testOptions(0)
		o.Units = unit
		for i := range p.Supports {
			p.Supports[i].Remaining = &jobs.Figure{MM: 17.2, SD: 1}
		}
		for name, svg := range map[string]string{"floor": Floor(p, o), "section": Section(p.Supports[0], "B1", o), "line": StringLine(p, p.Plan.Bearers[0], o)} {
			if !strings.Contains(svg, want) {
				t.Errorf("%s in %s lacks %s: %s", name, unit, want, svg)
			}
		}
	}
}
