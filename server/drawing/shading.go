package drawing

import (
	"fmt"
	"math"
	"strings"

	"relevel/events"
	"relevel/jobs"
)

// When says which heights of a job are shaded.
type When string

// The heights before the work, those before the first lift, and the present ones.
const (
	Survey  When = "survey"
	AsFound When = "as found"
	Now     When = "now"
)

// shades is the number of steps of the scale; the style sheet has as many.
const shades = 10

// Shading draws how far the floor has to go, by room: a smooth surface through
// the readings of that room alone, never across a wall, a step or what is
// fixed. A room with fewer than three readings stays blank and says so. The
// scale is one for all three times of a job.
func Shading(p jobs.Picture, when When, o Options) string {
	d := newShading(p, when, o)
	c := &canvas{units: o.Units, plain: o.Plain}
	sheet := d.l.sheet()
	sheet.x1 = max(sheet.x1, keyWide)
	whole := box{0, 0, sheet.x1, sheet.y1 + keyHigh}
	c.start("shading"+sized(whole), whole, fmt.Sprintf(c.means("Floor %s, shaded by how far it has to go"), c.means(string(when))))
	taken := &crowd{}
	for _, a := range d.areas {
		d.fill(c, a)
	}
	d.l.drawGround(c, p.Plan)
	d.l.drawEdge(c, p.Plan)
	d.marks(c, taken)
	d.blanks(c, taken)
	d.l.drawRoomNames(c, p.Plan, taken)
	d.legend(c, sheet.y1+14)
	return c.finish()
}

// shading is a floor with what its readings say at one time.
type shading struct {
	l     *layout
	when  When
	rooms []events.Room
	drawn bool // the plan has rooms
	areas []area
	seen  []seen
	byWay map[*grid][][]reading // of each part of a room
	step  float64               // mm a shade
	aimed bool                  // values are to go to the target, else below the highest
}

// seen is one reading with what is written beside it.
type seen struct {
	reading
	sd       float64
	expected bool
	surface  string
	name     string
}

func newShading(p jobs.Picture, when When, o Options) *shading {
	d := &shading{l: newLayout(p, o.Turn), when: when}
	d.rooms, d.drawn = roomsOf(p)
	d.areas = areasOf(p, d.rooms)
	z := zeroing(p)
	d.aimed, d.seen = z.aimed, z.seenAt(p, when)
	d.step = shadeStep(o.Darkest)
	if o.Darkest <= 0 {
		d.step = shadeStep(z.furthest(p))
	}
	d.share()
	for i := range d.areas {
		a := &d.areas[i]
		a.f, a.read = d.fieldOf(*a)
	}
	return d
}

// share gives every area the readings within it.
func (d *shading) share() {
	d.byWay = map[*grid][][]reading{}
	parts := map[*grid]int{}
	grids := map[int]*grid{}
	for _, a := range d.areas {
		grids[a.room] = a.g
		parts[a.g]++
	}
	held := map[*grid][][]seen{}
	for _, s := range d.seen {
		g := grids[roomAt(d.rooms, s.x, s.y)]
		if g == nil {
			continue
		}
		if held[g] == nil {
			held[g] = make([][]seen, parts[g])
		}
		if n := g.nearest(s.x, s.y); n > 0 {
			held[g][n-1] = append(held[g][n-1], s)
		}
	}
	for g, all := range held {
		for _, of := range all {
			d.byWay[g] = append(d.byWay[g], oneSurface(of))
		}
	}
}

// nearest is the part of the floor that a place is nearest to.
func (g *grid) nearest(x, y float64) int {
	part, least := 0, math.Inf(1)
	for i, n := range g.part {
		if n <= 0 {
			continue
		}
		u, v := g.centre(i)
		if d := (u-x)*(u-x) + (v-y)*(v-y); d < least {
			part, least = n, d
		}
	}
	return part
}

// oneSurface keeps the readings on the surface that most of them were taken on:
// heights on a carpet and on boards are no one floor.
func oneSurface(all []seen) []reading {
	n := map[string]int{}
	most := ""
	for _, s := range all {
		if s.surface == "" {
			continue
		}
		if n[s.surface]++; n[s.surface] > n[most] || n[s.surface] == n[most] && s.surface < most {
			most = s.surface
		}
	}
	var out []reading
	for _, s := range all {
		if s.surface == "" || s.surface == most {
			out = append(out, s.reading)
		}
	}
	return out
}

func (d *shading) readings(a area) []reading {
	if all := d.byWay[a.g]; all != nil {
		return all[a.g.part[a.cells[0]]-1]
	}
	return nil
}

// fieldOf is the surface of an area, if it was read at enough places.
func (d *shading) fieldOf(a area) (field, bool) {
	all := d.readings(a)
	if n := len(merged(all)); n < leastToRead || n > mostToRead {
		return field{}, false
	}
	return newField(all)
}

// fill shades an area, one path a shade, in stretches of equal cells.
func (d *shading) fill(c *canvas, a area) {
	if !a.read {
		return
	}
	var paths [shades]strings.Builder
	for n := 0; n < len(a.cells); {
		from := a.cells[n]
		shade := d.shade(a.f.value(a.g.centre(from)))
		till := from
		for n++; n < len(a.cells) && a.cells[n] == till+1 && a.cells[n]/a.g.nx == from/a.g.nx; n++ {
			if d.shade(a.f.value(a.g.centre(a.cells[n]))) != shade {
				break
			}
			till = a.cells[n]
		}
		d.stretch(&paths[shade], a.g, from, till)
	}
	room := d.rooms[a.room].Name
	for i := range paths {
		if paths[i].Len() > 0 {
			c.empty("path", "class", fmt.Sprintf("far far-%d", i), "data-room", room, "d", paths[i].String())
		}
	}
}

// stretch adds neighbouring cells of one row to a path.
func (d *shading) stretch(b *strings.Builder, g *grid, from, till int) {
	x, y := g.x0+float64(from%g.nx)*g.w, g.y0+float64(from/g.nx)*g.h
	p, q := d.l.at(x, y), d.l.at(x+float64(till-from+1)*g.w, y+g.h)
	r := around([]point{p, q})
	for _, part := range [...]string{"M", num(r.x0), " ", num(r.y0), "H", num(r.x1), "V", num(r.y1), "H", num(r.x0), "Z"} {
		b.WriteString(part)
	}
}

// shade is the step of the scale a value lies on.
func (d *shading) shade(mm float64) int {
	return int(min(max(math.Floor(mm/d.step), 0), shades-1))
}

// shadeStep is a round step with which the scale reaches as far as wanted.
func shadeStep(far float64) float64 {
	for ten := 1.0; ten < 1e12; ten *= 10 {
		for _, n := range []float64{1, 2, 3, 4, 5, 6, 8} {
			if n*ten*shades >= far {
				return n * ten
			}
		}
	}
	return 1e12
}

// marks writes each reading at its place, with its ± where there is room.
func (d *shading) marks(c *canvas, taken *crowd) {
	for _, s := range d.seen {
		at := d.l.at(s.x, s.y)
		taken.add(box{at.x, at.y, at.x, at.y}.grown(knot + 1))
	}
	for _, s := range d.seen {
		at := d.l.at(s.x, s.y)
		class, text := "ink fill-paper", "number"
		if s.expected {
			class, text = "pencil fill-paper", "number expected"
		}
		c.open("g", "class", "mark")
		c.element("title", s.name+": "+c.units.ShowSigned(s.v)+" "+c.units.ShowSD(s.sd))
		c.empty("circle", "class", class, "cx", at.x, "cy", at.y, "r", knot)
		lb := label{number: words{text, c.units.ShowSigned(s.v), lineSize, digitWide}, pm: words{"pm", c.units.ShowSD(s.sd), smallSize, digitWide}}
		if to, free := taken.free(around([]point{at}), lb.numberWide(), lineSize); free {
			lb.writeNumber(c, to)
		}
		c.close("g")
	}
}

// blanks says of every area that is not shaded why.
func (d *shading) blanks(c *canvas, taken *crowd) {
	for _, a := range d.areas {
		if a.read || float64(len(a.cells))*a.g.w*a.g.h < leastArea {
			continue
		}
		says := "not read"
		switch n := len(d.readings(a)); {
		case n > mostToRead:
			says = "too many readings to shade"
		case n > 0:
			says = "too few read"
		}
		w := words{"blank", says, smallSize, letterWide}
		var ways []point
		in := around(d.l.outline(a.g.outline))
		for i := 0; i < len(a.cells); i += max(len(a.cells)/40, 1) {
			at := d.l.at(a.g.centre(a.cells[(i+len(a.cells)/2)%len(a.cells)]))
			if at.x-w.width()/2 > in.x0 && at.x+w.width()/2 < in.x1 || in.wide() < w.width() {
				ways = append(ways, at.plus(-w.width()/2, 5))
			}
		}
		if len(ways) == 0 {
			continue
		}
		c.text(w.class, taken.best(ways, w), fromStart, says)
	}
}

// legend draws the scale with its numbers.
func (d *shading) legend(c *canvas, y float64) {
	const x, wide, high = 24.0, 29.0, 18.0
	name := unitName(c.units)
	for i := range shades {
		at := x + wide*float64(i)
		c.rect(fmt.Sprintf("swatch far-%d", i), box{at, y, at + wide, y + high})
		c.text("small", point{at, y + high + 15}, centred, c.units.Show(d.step*float64(i)))
	}
	c.text("small", point{x + wide*shades, y + high + 15}, centred, name)
	words := name + c.means(" below the highest height read")
	if d.aimed {
		words = name + c.means(" to go to the target; what is above it as 0")
	}
	c.text("small", point{x - 8, y + 52}, fromStart, words)
	when := c.means(string(d.when)) + c.means("; light number: expected, not read")
	words = when
	if !d.drawn {
		words = c.means("no rooms drawn: all supports as one floor")
	}
	c.text("small", point{x - 8, y + 70}, fromStart, words)
	if !d.drawn {
		c.text("small", point{x - 8, y + 88}, fromStart, when)
	}
}
