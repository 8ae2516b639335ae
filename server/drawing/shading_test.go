package drawing

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

func TestShadingGolden(t *testing.T) {
	golden(t, "shading-found", Shading(everyState(), AsFound, testOptions(0)))
	golden(t, "shading-now", Shading(everyState(), Now, testOptions(3)))
}

// shaded are the stretches of cells of a drawing, by room and shade.
func shaded(t *testing.T, svg string) map[string][]box {
	t.Helper()
	all := map[string][]box{}
	for _, e := range parse(t, svg) {
		if !strings.HasPrefix(attr(e, "class"), "far ") {
			continue
		}
		key := attr(e, "data-room") + "|" + attr(e, "class")
		for _, cell := range strings.Split(strings.Trim(attr(e, "d"), "M"), "M") {
			var b box
			if _, err := fmt.Sscanf(cell, "%g %gH%gV%gH", &b.x0, &b.y0, &b.x1, &b.y1); err != nil {
				t.Fatalf("cells %q: %v", cell, err)
			}
			all[key] = append(all[key], b)
		}
	}
	return all
}

// No cell's centre lies outside its room or on what is fixed, and the largest
// drawing is bounded.
func TestShadingInsideRooms(t *testing.T) {
	p := everyState()
	p.Plan.Rooms[3].Outline = append(p.Plan.Rooms[3].Outline[:3:3], events.Position{7.1, 5.9}) // one slanted side
	for turn := range 4 {
		l := newLayout(p, turn)
		svg := Shading(p, AsFound, testOptions(turn))
		if noNumber.MatchString(svg) {
			t.Errorf("turn %d: a coordinate is no number", turn)
		}
		cells := shaded(t, svg)
		if len(cells) < 8 {
			t.Fatalf("turn %d: only %d shades drawn", turn, len(cells))
		}
		for key, boxes := range cells {
			name, _, _ := strings.Cut(key, "|")
			for _, b := range boxes {
				for _, q := range []point{{b.x0 + 2, (b.y0 + b.y1) / 2}, {(b.x0 + b.x1) / 2, b.y0 + 2}, {b.x1 - 2, b.y1 - 2}} {
					x, y := onPlan(l, q)
					if !roomy(p.Plan, name, x, y) {
						t.Fatalf("turn %d: %s is shaded at %.2f, %.2f", turn, name, x, y)
					}
				}
			}
		}
	}
}

// onPlan is the place in metres of one on the drawing.
func onPlan(l *layout, q point) (x, y float64) {
	o, r, u := l.at(0, 0), l.at(1, 0), l.at(0, 1)
	s := l.scale * l.scale
	return ((q.x-o.x)*(r.x-o.x) + (q.y-o.y)*(r.y-o.y)) / s, ((q.x-o.x)*(u.x-o.x) + (q.y-o.y)*(u.y-o.y)) / s
}

// roomy reports whether a place lies in a room, a cell's half or so beside its
// edge allowed, and well off what is fixed.
func roomy(p events.Plan, name string, x, y float64) bool {
	const half = 0.06
	for _, t := range p.Fixed {
		if b := plain(t.Outline).grown(-half); x > b.x0 && x < b.x1 && y > b.y0 && y < b.y1 {
			return false
		}
	}
	for _, r := range p.Rooms {
		if r.Name != name {
			continue
		}
		if inside(r.Outline, x, y) {
			return true
		}
		for i, a := range r.Outline {
			if offEdge(a, r.Outline[(i+1)%len(r.Outline)], x, y) < half {
				return true
			}
		}
	}
	return false
}

// Every cell's own centre lies in its room, to the last bit.
func TestCellCentres(t *testing.T) {
	p := everyState()
	rooms, _ := roomsOf(p)
	cells := 0
	for _, a := range areasOf(p, rooms) {
		for _, i := range a.cells {
			cells++
			x, y := a.g.centre(i)
			if !inside(rooms[a.room].Outline, x, y) || inside(p.Plan.Fixed[0].Outline, x, y) {
				t.Fatalf("a cell of %s has its centre at %g, %g", rooms[a.room].Name, x, y)
			}
		}
	}
	if cells < mostCells/2 || cells > mostCells {
		t.Errorf("%d cells, want at most %d and not far fewer", cells, mostCells)
	}
}

// A reading in one room changes nothing in another.
func TestRoomsApart(t *testing.T) {
	o := testOptions(0)
	o.Darkest = 60
	before := shaded(t, Shading(everyState(), AsFound, o))
	p := everyState()
	p.Supports[1].AsFound.MM -= 25 // B1-2, in the front room
	after := shaded(t, Shading(p, AsFound, o))
	changed := false
	for _, in := range []map[string][]box{before, after} {
		for key := range in {
			if cmp.Equal(before[key], after[key], cmp.AllowUnexported(box{})) {
				continue
			}
			if !strings.HasPrefix(key, "Front room|") {
				t.Errorf("%s changed with a reading in the front room", key)
			}
			changed = true
		}
	}
	if !changed {
		t.Error("the front room itself did not change")
	}
}

// A wall across a room parts it: what was read beyond is not carried over.
func TestWallAcrossRoom(t *testing.T) {
	p := jobs.Picture{Plan: events.Plan{
		Rooms: []events.Room{{Name: "r", Outline: []events.Position{{0, 0}, {6, 0}, {6, 3}, {0, 3}}}},
		Walls: []events.Wall{{From: events.Position{3, 0}, To: events.Position{3, 3}}},
	}}
	for i, at := range [][3]float64{{1, 1, 0}, {2, 1, 0}, {2, 2, 0}, {4, 1, -40}, {5, 1, -40}, {5, 2, -40}} {
		p.Supports = append(p.Supports, jobs.Support{ID: fmt.Sprint(i), X: at[0], Y: at[1], Basis: jobs.WasRead, Present: &jobs.Figure{MM: at[2], SD: 1}})
	}
	d := newShading(p, Now, Options{})
	if len(d.areas) != 2 {
		t.Fatalf("%d areas, want one on each side of the wall", len(d.areas))
	}
	for _, a := range d.areas {
		for _, i := range a.cells {
			x, y := a.g.centre(i)
			want := 0.0
			if x > 3 {
				want = 40
			}
			if v := a.f.value(x, y); math.Abs(v-want) > 1e-6 {
				t.Fatalf("at %g, %g the floor is drawn %g below, want %g", x, y, v, want)
			}
		}
	}
	p.Supports = p.Supports[:5]
	svg := Shading(p, Now, Options{})
	if !strings.Contains(svg, "too few read") {
		t.Error("a part that was read at two places only does not say so")
	}
	p.Supports = p.Supports[:3]
	if svg := Shading(p, Now, Options{}); !strings.Contains(svg, ">not read<") {
		t.Error("a part that was not read does not say so")
	}
}

// The surface passes through its readings, and lies between the least and the
// greatest of them, also where they lie in one line.
func TestField(t *testing.T) {
	tests := map[string][]reading{
		"Corners": {{0, 0, 3}, {4, 0, -12}, {0, 3, 7}, {4, 3, 40}, {2, 1, 11}},
		"InLine":  {{0, 0, 0}, {1.8, 0, 9}, {3.6, 0, 30}, {5.4, 0, 4}},
		"Close":   {{0, 0, 0}, {1.8, 0, 9}, {1.85, 0, 31}, {5.4, 2, 4}},
		"Far":     {{4000, 4000, 1}, {4001, 4000, 2}, {4000, 4002, 3}},
	}
	for name, all := range tests {
		t.Run(name, func(t *testing.T) {
			f, ok := newField(all)
			if !ok {
				t.Fatal("no surface")
			}
			for _, r := range all {
				if v := f.value(r.x, r.y); math.Abs(v-r.v) > 1e-6 {
					t.Errorf("at %g, %g it is %g, read %g", r.x, r.y, v, r.v)
				}
			}
			for i := range 400 {
				v := f.value(all[0].x+float64(i%20)/3, all[0].y+float64(i/20)/3)
				if !(v >= f.low && v <= f.high) {
					t.Fatalf("it is %g, and the readings lie between %g and %g", v, f.low, f.high)
				}
			}
		})
	}
}

// One place read twice is one place, at the mean.
func TestFieldOnePlace(t *testing.T) {
	f, ok := newField([]reading{{0, 0, 10}, {0, 0, 20}, {2, 0, 0}, {0, 2, 0}})
	if v := f.value(0, 0); !ok || math.Abs(v-15) > 1e-6 {
		t.Errorf("read as 10 and 20 it is drawn at %g, want 15", v)
	}
}

// Before and after have one scale, unless somebody gives another.
func TestOneScale(t *testing.T) {
	p := everyState()
	want := newShading(p, Survey, Options{}).step
	for _, when := range []When{AsFound, Now} {
		if got := newShading(p, when, Options{}).step; got != want {
			t.Errorf("%s: %g mm a shade, before %g", when, got, want)
		}
	}
	if got := newShading(p, Now, Options{Darkest: 200}).step; got != 20 {
		t.Errorf("to 200 mm it takes %g a shade, want 20", got)
	}
	if !strings.Contains(Shading(p, Now, Options{Darkest: 200}), ">180<") {
		t.Error("the legend does not have the numbers of the scale")
	}
}

// Without rooms all supports are one floor, which ends at the outermost.
func TestNoRooms(t *testing.T) {
	p := sloping(4, 5, 1.8, 20)
	svg := Shading(p, Now, Options{})
	if !strings.Contains(svg, "no rooms drawn") || len(shaded(t, svg)) < 3 {
		t.Error("a floor without rooms is not shaded, or does not say that it has none")
	}
	around := hull(p)
	for _, s := range p.Supports {
		if !inside(around, s.X, s.Y) {
			near := false
			for i, a := range around {
				near = near || offEdge(a, around[(i+1)%len(around)], s.X, s.Y) < 1e-9
			}
			if !near {
				t.Errorf("%s lies outside the hull", s.ID)
			}
		}
	}
}

// A spot that was read on the floor is shaded with the supports: now only where
// nothing moved since, and never where it was read on another face.
func TestSpotsAreShaded(t *testing.T) {
	at := func(mm float64) *jobs.Figure { return &jobs.Figure{MM: mm, SD: 1} }
	floor, bearer := []jobs.FaceOf{{Face: events.FloorFace}}, []jobs.FaceOf{{Face: events.BearerFace}}
	picture := func(spot jobs.Spot, targets ...float64) jobs.Picture {
		p := jobs.Picture{Spots: []jobs.Spot{spot}}
		for i, x := range []float64{0, 4, 0, 4} {
			s := jobs.Support{ID: string(rune('a' + i)), X: x, Y: float64(i/2) * 4, Basis: jobs.WasRead, Survey: at(-10), AsFound: at(-9), Present: at(-2), Faces: floor}
			if i < len(targets) {
				s.Target, s.Remaining = &targets[i], at(targets[i]+2)
			}
			p.Supports = append(p.Supports, s)
		}
		return p
	}
	level := []float64{0, 0, 0, 0}
	tests := map[string]struct {
		p    jobs.Picture
		want map[When]float64
	}{
		"Read":         {picture(jobs.Spot{ID: "hearth", X: 2, Y: 2, Survey: at(-30), AsFound: at(-28), Present: at(-6), Basis: jobs.WasRead, Faces: floor}, level...), map[When]float64{Survey: 30, AsFound: 28, Now: 6}},
		"MovedSince":   {picture(jobs.Spot{ID: "hearth", X: 2, Y: 2, Survey: at(-30), AsFound: at(-28), Present: at(-28), Basis: jobs.IsExpected, Faces: floor}, level...), map[When]float64{Survey: 30, AsFound: 28}},
		"FromBelow":    {picture(jobs.Spot{ID: "hearth", X: 2, Y: 2, Survey: at(-30), Present: at(-30), Basis: jobs.WasRead, Faces: bearer}, level...), nil},
		"NotRead":      {picture(jobs.Spot{ID: "hearth", X: 2, Y: 2}, level...), nil},
		"TargetsApart": {picture(jobs.Spot{ID: "hearth", X: 2, Y: 2, Survey: at(-30), Present: at(-30), Basis: jobs.WasRead, Faces: floor}, 0, -1, -2, -3), nil},
		"NoAim":        {picture(jobs.Spot{ID: "hearth", X: 2, Y: 2, Survey: at(-30), Present: at(1), Basis: jobs.WasRead, Faces: floor}), map[When]float64{Survey: 31, Now: 0}},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			for _, when := range []When{Survey, AsFound, Now} {
				d := newShading(test.p, when, Options{})
				i := slices.IndexFunc(d.seen, func(s seen) bool { return s.name == "hearth" })
				want, there := test.want[when]
				switch {
				case there != (i >= 0):
					t.Errorf("%s: shown %t, want %t", when, i >= 0, there)
				case there && d.seen[i].v != want:
					t.Errorf("%s: %g below, want %g", when, d.seen[i].v, want)
				case there && d.step*shades < want:
					t.Errorf("%s: the scale ends at %g, above the spot's %g", when, d.step*shades, want)
				case there && !strings.Contains(Shading(test.p, when, Options{}), "<title>hearth: "):
					t.Errorf("%s: it is not marked", when)
				}
			}
		})
	}
}

// Heights on a carpet are not compared with heights on boards.
func TestOneSurface(t *testing.T) {
	all := []seen{
		{reading: reading{v: 1}, surface: "boards"}, {reading: reading{v: 2}, surface: "carpet"},
		{reading: reading{v: 3}, surface: "boards"}, {reading: reading{v: 4}},
	}
	got := oneSurface(all)
	want := []reading{{v: 1}, {v: 3}, {v: 4}}
	if diff := cmp.Diff(want, got, cmp.AllowUnexported(reading{})); diff != "" {
		t.Errorf("kept (-want +got):\n%s", diff)
	}
}

// 400 supports are a drawing of bounded size.
func TestShadingSize(t *testing.T) {
	svg := Shading(sloping(20, 20, 1.8, 0), Now, testOptions(0))
	if n := len(parse(t, svg)); n > 2500 {
		t.Errorf("400 supports take %d elements, want 2 500 at most", n)
	}
	if len(svg) > 600_000 {
		t.Errorf("400 supports take %d bytes", len(svg))
	}
}

// Odd plans are drawn as far as they can be.
func TestOddPlansShown(t *testing.T) {
	plans := map[string]jobs.Picture{
		"Empty":     {},
		"OneSpot":   {Supports: []jobs.Support{{ID: "a"}, {ID: "b"}, {ID: "c"}}},
		"Unknown":   {Plan: events.Plan{Bearers: []events.Bearer{{ID: "B", Supports: []string{"x", "y"}}, {ID: "C"}}}},
		"NoOutline": {Plan: events.Plan{Rooms: []events.Room{{Name: "hall"}, {Outline: []events.Position{{1, 1}, {1, 1}, {1, 1}}}}, Fixed: []events.Thing{{}}}},
		"Far":       {Supports: []jobs.Support{{ID: "a", Present: &jobs.Figure{MM: 1e300}}, {ID: "b", X: 4, Present: &jobs.Figure{MM: -1e300}}, {ID: "c", Y: 4, Present: &jobs.Figure{}}}, Plan: events.Plan{Bearers: []events.Bearer{{ID: "B", Supports: []string{"a", "b"}}}}},
	}
	for name, p := range plans {
		t.Run(name, func(t *testing.T) {
			for turn := range 4 {
				for _, svg := range []string{StringLines(p, Options{Turn: turn}), Shading(p, Now, Options{Turn: turn})} {
					parse(t, svg)
					if bad := noNumber.FindString(svg); bad != "" {
						t.Errorf("a coordinate is no number: %s", bad)
					}
				}
			}
		})
	}
}
