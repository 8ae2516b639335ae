package drawing

import (
	"cmp"
	"math"
	"slices"

	"relevel/events"
	"relevel/jobs"
)

const (
	mostCells   = 8000  // of a whole floor
	leastCell   = 0.06  // m
	wallThick   = 0.2   // m: a support under an outer wall belongs to the room inside
	leastArea   = 0.6   // m² of floor worth saying "not read" on
	leastToRead = 3     // readings before an area is shaded
	mostToRead  = 600   // readings of one area that a surface is drawn through
	leastHull   = 0.001 // m² of floor between supports, without rooms
)

// area is a part of the floor that heights are carried over: a room, or what a
// wall or a step leaves of it.
type area struct {
	room  int
	g     *grid
	cells []int // of the grid
	f     field // through its readings
	read  bool  // there is one
}

// grid is a room's floor in cells. Cells under what is fixed are no floor.
type grid struct {
	x0, y0, w, h float64 // left bottom corner in metres, size of a cell
	nx, ny       int
	part         []int // which area a cell belongs to, −1 for none
	outline      []events.Position
}

// rooms are the plan's, or the hull of the supports where none are drawn.
func roomsOf(p jobs.Picture) (rooms []events.Room, drawn bool) {
	for _, r := range p.Plan.Rooms {
		if len(r.Outline) > 2 {
			rooms = append(rooms, r)
		}
	}
	if len(rooms) > 0 {
		return rooms, true
	}
	h := hull(p)
	if math.Abs(size(h)) < leastHull {
		return nil, false
	}
	return []events.Room{{Outline: h}}, false
}

// areasOf parts every room into cells, and these into areas along its walls
// and what is fixed.
func areasOf(p jobs.Picture, rooms []events.Room) []area {
	total := 0.0
	for _, r := range rooms {
		b := plain(r.Outline)
		total += b.wide() * b.high()
	}
	cell := max(math.Sqrt(total/mostCells), leastCell)
	bars := barriers(p.Plan)
	var all []area
	for i, r := range rooms {
		g := newGrid(r.Outline, cell, p.Plan.Fixed)
		for _, cells := range g.parts(bars) {
			all = append(all, area{room: i, g: g, cells: cells})
		}
	}
	return all
}

func newGrid(outline []events.Position, cell float64, fixed []events.Thing) *grid {
	b := plain(outline)
	g := &grid{x0: b.x0, y0: b.y0, outline: outline}
	g.nx, g.ny = max(int(b.wide()/cell), 1), max(int(b.high()/cell), 1)
	g.w, g.h = b.wide()/float64(g.nx), b.high()/float64(g.ny)
	g.part = make([]int, g.nx*g.ny)
	for i := range g.part {
		x, y := g.centre(i)
		g.part[i] = -1
		if inside(outline, x, y) && !slices.ContainsFunc(fixed, func(t events.Thing) bool { return inside(t.Outline, x, y) }) {
			g.part[i] = 0
		}
	}
	return g
}

func (g *grid) centre(i int) (x, y float64) {
	return g.x0 + (float64(i%g.nx)+0.5)*g.w, g.y0 + (float64(i/g.nx)+0.5)*g.h
}

// parts are the cells one can walk between without crossing a barrier.
func (g *grid) parts(bars []barrier) [][]int {
	b := plain(g.outline)
	bars = slices.DeleteFunc(slices.Clone(bars), func(s barrier) bool {
		return max(s.a[0], s.b[0]) < b.x0 || min(s.a[0], s.b[0]) > b.x1 || max(s.a[1], s.b[1]) < b.y0 || min(s.a[1], s.b[1]) > b.y1
	})
	count := 0
	for i := range g.part {
		if g.part[i] == 0 {
			count++
			g.walk(i, count, bars)
		}
	}
	all := make([][]int, count)
	for i, n := range g.part {
		if n > 0 {
			all[n-1] = append(all[n-1], i)
		}
	}
	return all
}

// walk numbers the cells that are reached from one.
func (g *grid) walk(from, number int, bars []barrier) {
	g.part[from] = number
	for reached := []int{from}; len(reached) > 0; {
		i := reached[len(reached)-1]
		reached = reached[:len(reached)-1]
		x, y := g.centre(i)
		beside, n := g.beside(i)
		for _, j := range beside[:n] {
			if g.part[j] != 0 {
				continue
			}
			u, v := g.centre(j)
			if !slices.ContainsFunc(bars, func(s barrier) bool { return s.parts(events.Position{x, y}, events.Position{u, v}) }) {
				g.part[j] = number
				reached = append(reached, j)
			}
		}
	}
}

// beside are the n cells on the four sides of one.
func (g *grid) beside(i int) (all [4]int, n int) {
	add := func(j int) {
		all[n] = j
		n++
	}
	if i%g.nx > 0 {
		add(i - 1)
	}
	if i%g.nx < g.nx-1 {
		add(i + 1)
	}
	if i >= g.nx {
		add(i - g.nx)
	}
	if i < g.nx*(g.ny-1) {
		add(i + g.nx)
	}
	return all, n
}

// barrier is a straight piece of wall, step or fixed edge.
type barrier struct{ a, b events.Position }

func barriers(p events.Plan) []barrier {
	var all []barrier
	for _, w := range p.Walls {
		all = append(all, barrier{w.From, w.To})
	}
	for _, t := range p.Fixed {
		for i := 1; i < len(t.Outline); i++ {
			all = append(all, barrier{t.Outline[i-1], t.Outline[i]})
		}
		if n := len(t.Outline); n > 2 {
			all = append(all, barrier{t.Outline[n-1], t.Outline[0]})
		}
	}
	return all
}

// parts reports whether a barrier lies between two places. A cell's centre on
// the barrier itself counts as beyond it.
func (s barrier) parts(p, q events.Position) bool {
	return (turnOf(s.a, s.b, p) > 0) != (turnOf(s.a, s.b, q) > 0) && turnOf(p, q, s.a)*turnOf(p, q, s.b) <= 0
}

// turnOf is positive where a, b, c turn to the left.
func turnOf(a, b, c events.Position) float64 {
	return (b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])
}

// inside reports whether a place lies in an outline.
func inside(outline []events.Position, x, y float64) bool {
	in := false
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		if (a[1] > y) != (b[1] > y) && x < a[0]+(y-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
			in = !in
		}
	}
	return in && len(outline) > 2
}

// roomAt is the room a place lies in, or the one it is at the wall of; −1 for none.
func roomAt(rooms []events.Room, x, y float64) int {
	for i, r := range rooms {
		if inside(r.Outline, x, y) {
			return i
		}
	}
	nearest, least := -1, wallThick
	for i, r := range rooms {
		for j, a := range r.Outline {
			if d := offEdge(a, r.Outline[(j+1)%len(r.Outline)], x, y); d < least {
				nearest, least = i, d
			}
		}
	}
	return nearest
}

// offEdge is the distance of a place from an edge.
func offEdge(a, b events.Position, x, y float64) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = min(max(((x-a[0])*dx+(y-a[1])*dy)/l, 0), 1)
	}
	return math.Hypot(x-a[0]-t*dx, y-a[1]-t*dy)
}

// plain is the upright box around an outline, in metres as on the plan.
func plain(o []events.Position) box {
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, q := range o {
		b = b.with(box{q[0], q[1], q[0], q[1]})
	}
	return b
}

// size is the area of an outline, m², negative where it runs clockwise.
func size(o []events.Position) float64 {
	sum := 0.0
	for i, a := range o {
		b := o[(i+1)%len(o)]
		sum += a[0]*b[1] - b[0]*a[1]
	}
	return sum / 2
}

// hull is the tightest outline without a dent around all supports.
func hull(p jobs.Picture) []events.Position {
	var at []events.Position
	for _, s := range p.Supports {
		at = append(at, events.Position{s.X, s.Y})
	}
	slices.SortFunc(at, func(a, b events.Position) int {
		return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1]))
	})
	half := func(at []events.Position) []events.Position {
		var h []events.Position
		for _, q := range at {
			for len(h) > 1 && turnOf(h[len(h)-2], h[len(h)-1], q) <= 0 {
				h = h[:len(h)-1]
			}
			h = append(h, q)
		}
		return h
	}
	if len(at) < 3 {
		return nil
	}
	lower := half(at)
	slices.Reverse(at)
	upper := half(at)
	return append(lower[:len(lower)-1], upper[:len(upper)-1]...)
}
