package demo

import (
	"fmt"

	"relevel/events"
)

// House is a floor as drawn, and where it truly lies.
type House struct {
	Name string
	Plan events.Plan

	// HeightMM is the true height of the floor above each support and at each
	// spot before any work. Zero is the floor at the front door.
	HeightMM map[string]float64
}

// row is one bearer along x: its supports' positions, the true heights above
// them, and its joins by number of support, from 1.
type row struct {
	y       float64
	x       []float64
	heights []float64
	butted  []int // lies between this support and the next
	halved  []int
	scarfed []int
}

// LongHall is the house of the main job: 26 supports on four bearers, dropped
// towards the wet rooms at the back.
func LongHall() House {
	h := House{Name: "Long hall cottage", HeightMM: map[string]float64{}}
	h.draw([]row{
		{y: 0.3, x: []float64{0.3, 2.1, 3.9, 5.7, 7.5, 9.3},
			heights: []float64{0, -3, -6, -8, -5, -2}, halved: []int{3}},
		{y: 2.1, x: []float64{0.3, 2.1, 3.9, 5.65, 5.75, 7.5, 9.3},
			heights: []float64{-4, -9, -17, -24, -22, -14, -6}, butted: []int{4}},
		{y: 3.9, x: []float64{0.3, 2.1, 3.9, 5.7, 7.5, 9.3},
			heights: []float64{-6, -12, -19, -23, -28, -15}, scarfed: []int{4}},
		{y: 5.7, x: []float64{0.3, 2.1, 3.9, 5.7, 7.45, 7.55, 9.3},
			heights: []float64{-3, -8, -14, -18, -31, -27, -12}, butted: []int{5}},
	})
	p := &h.Plan
	h.spot("hearth edge", 3.7, 2.55, -18)
	h.spot("kitchen middle", 2.1, 4.8, -11)
	h.spot("bath door", 5.0, 3.45, -20)
	p.Datums = []events.Datum{
		datum("D1", -2.2, -1.4, -900, "nail in the concrete kerb of the footpath", true),
		datum("D2", 3.7, 3.05, -620, "brick base of the chimney", false),
	}
	p.Rooms = []events.Room{
		room("front room", false, 0, 0, 4.6, 2.9), room("bedroom", false, 4.6, 0, 9.6, 2.9),
		room("hall", false, 0, 2.9, 9.6, 3.9), room("kitchen", false, 0, 3.9, 4.3, 6),
		room("bathroom", true, 4.3, 3.9, 6.9, 6), room("laundry", true, 6.9, 3.9, 9.6, 6),
	}
	p.Walls = []events.Wall{
		wall(0, 0, 9.6, 0, true), wall(9.6, 0, 9.6, 6, true), wall(9.6, 6, 0, 6, true), wall(0, 6, 0, 0, true),
		wall(4.6, 0, 4.6, 2.9, false), wall(0, 2.9, 9.6, 2.9, true), wall(0, 3.9, 9.6, 3.9, false),
		wall(4.3, 3.9, 4.3, 6, false), wall(6.9, 3.9, 6.9, 6, false),
	}
	p.Fixed = []events.Thing{thing("chimney and hearth", [2]float64{3.1, 2.6}, [2]float64{4.3, 2.6}, [2]float64{4.3, 3.2}, [2]float64{3.1, 3.2})}
	p.Doors = []events.Thing{
		thing("front door", [2]float64{0, 3.1}, [2]float64{0, 3.8}), thing("bathroom door", [2]float64{4.7, 3.9}, [2]float64{5.4, 3.9}),
		thing("bedroom door", [2]float64{6.2, 2.9}, [2]float64{6.9, 2.9}), thing("back door", [2]float64{9.6, 4.4}, [2]float64{9.6, 5.2}),
	}
	p.Hatches = []events.Thing{thing("hatch under the hall", [2]float64{8.2, 3.1}, [2]float64{8.9, 3.1}, [2]float64{8.9, 3.7}, [2]float64{8.2, 3.7})}
	p.Joists = &events.Joists{DirectionDeg: 90, SpacingMM: 450, WidthMM: 45, DepthMM: 100}
	p.Street = events.Left
	return h
}

// TwoGables is a smaller house whose floor has been surveyed and agreed on.
func TwoGables() House {
	h := House{Name: "Two gables", HeightMM: map[string]float64{}}
	h.draw([]row{
		{y: 0.3, x: []float64{0.3, 2.1, 3.9, 5.7}, heights: []float64{-2, -5, -9, -4}},
		{y: 2.2, x: []float64{0.3, 2.1, 3.85, 3.95, 5.7}, heights: []float64{-6, -16, -22, -21, -10}, butted: []int{3}},
		{y: 4.1, x: []float64{0.3, 2.1, 3.9, 5.7}, heights: []float64{0, -8, -13, -7}, halved: []int{2}},
	})
	p := &h.Plan
	h.spot("stair foot", 1.2, 3.2, -9)
	p.Datums = []events.Datum{
		datum("D1", 7.4, -1.1, -870, "bolt head in a concrete gate post", true),
		datum("D2", 0, 4.6, -610, "slab of the back porch", false),
	}
	p.Rooms = []events.Room{
		room("parlour", false, 0, 0, 3.3, 4.4), room("kitchen", false, 3.3, 1.8, 6, 4.4), room("bath", true, 3.3, 0, 6, 1.8),
	}
	p.Walls = []events.Wall{
		wall(0, 0, 6, 0, true), wall(6, 0, 6, 4.4, true), wall(6, 4.4, 0, 4.4, true), wall(0, 4.4, 0, 0, true),
		wall(3.3, 0, 3.3, 4.4, true), wall(3.3, 1.8, 6, 1.8, false),
	}
	p.Fixed = []events.Thing{thing("porch slab edge", [2]float64{0, 4.4}, [2]float64{2.4, 4.4})}
	p.Doors = []events.Thing{thing("front door", [2]float64{1.2, 0}, [2]float64{2, 0}), thing("kitchen door", [2]float64{3.3, 2.6}, [2]float64{3.3, 3.4})}
	p.Joists = &events.Joists{DirectionDeg: 90, SpacingMM: 450, WidthMM: 45, DepthMM: 100}
	p.Street = events.Bottom
	return h
}

// BackVeranda is the house of the finished job.
func BackVeranda() House {
	h := House{Name: "Back veranda house", HeightMM: map[string]float64{}}
	h.draw([]row{
		{y: 0.3, x: []float64{0.3, 2.0, 3.7, 5.4}, heights: []float64{0, -4, -7, -3}},
		{y: 2.1, x: []float64{0.3, 2.0, 3.7, 5.4}, heights: []float64{-5, -13, -18, -9}, halved: []int{3}},
		{y: 3.9, x: []float64{0.3, 2.0, 3.7, 5.4}, heights: []float64{-2, -9, -15, -11}},
	})
	p := &h.Plan
	h.spot("hall door", 2.8, 3.0, -12)
	p.Datums = []events.Datum{
		datum("D1", -1.6, -0.9, -910, "nail in the kerb", true),
		datum("D2", 5.8, 4.3, -640, "footing of the brick veranda pier", false),
	}
	p.Rooms = []events.Room{room("front room", false, 0, 0, 5.7, 2.1), room("kitchen", false, 0, 2.1, 3.4, 4.2), room("washhouse", true, 3.4, 2.1, 5.7, 4.2)}
	p.Walls = []events.Wall{
		wall(0, 0, 5.7, 0, true), wall(5.7, 0, 5.7, 4.2, true), wall(5.7, 4.2, 0, 4.2, true), wall(0, 4.2, 0, 0, true),
		wall(0, 2.1, 5.7, 2.1, false), wall(3.4, 2.1, 3.4, 4.2, false),
	}
	p.Joists = &events.Joists{DirectionDeg: 90, SpacingMM: 450, WidthMM: 45, DepthMM: 100}
	p.Street = events.Bottom
	return h
}

// draw adds bearers B1, B2, … and their supports B1-1, B1-2, …
func (h *House) draw(rows []row) {
	for i, r := range rows {
		b := events.Bearer{ID: fmt.Sprintf("B%d", i+1), WidthMM: 100, DepthMM: 75, Grade: "F17", Condition: "sound where it was probed"}
		for j, x := range r.x {
			id := fmt.Sprintf("%s-%d", b.ID, j+1)
			h.Plan.Supports = append(h.Plan.Supports, events.Support{ID: id, X: x, Y: r.y, Sort: "stump", Of: "timber"})
			h.HeightMM[id] = r.heights[j]
			b.Supports = append(b.Supports, id)
		}
		b.Joins = r.joins(b.Supports)
		h.Plan.Bearers = append(h.Plan.Bearers, b)
	}
	h.Plan.Loads = &events.Loads{FloorDeadKPa: 0.4, FloorLiveKPa: 1.5, WallDeadKPa: 0.35, WallM: 2.9, RoofDeadKPa: 0.4, RoofM: 2.6}
}

func (r row) joins(supports []string) []events.Join {
	var joins []events.Join
	for _, n := range r.butted {
		joins = append(joins, events.Join{At: supports[n-1], Other: supports[n], Sort: events.Butted})
	}
	for _, n := range r.halved {
		joins = append(joins, events.Join{At: supports[n-1], Sort: events.Halved})
	}
	for _, n := range r.scarfed {
		joins = append(joins, events.Join{At: supports[n-1], Sort: events.Scarfed})
	}
	return joins
}

func (h *House) spot(name string, x, y, heightMM float64) {
	h.Plan.Spots = append(h.Plan.Spots, events.Spot{ID: name, X: x, Y: y})
	h.HeightMM[name] = heightMM
}

func datum(id string, x, y, heightMM float64, on string, off bool) events.Datum {
	height := events.MM(heightMM)
	return events.Datum{ID: id, X: x, Y: y, Height: &height, StandsOn: on, OffBuilding: off}
}

func room(name string, wet bool, x0, y0, x1, y1 float64) events.Room {
	return events.Room{Name: name, Wet: wet, Outline: []events.Position{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}}
}

func wall(x0, y0, x1, y1 float64, roof bool) events.Wall {
	return events.Wall{From: events.Position{x0, y0}, To: events.Position{x1, y1}, Roof: roof}
}

func thing(name string, outline ...[2]float64) events.Thing {
	t := events.Thing{Name: name}
	for _, p := range outline {
		t.Outline = append(t.Outline, p)
	}
	return t
}
