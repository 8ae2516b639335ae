package drawing

import (
	"maps"
	"math"
	"slices"

	"relevel/events"
	"relevel/jobs"
)

// Sizes on the drawing in px at full size. A support needs room for its post,
// its number and a thumb; a floor too wide for a phone at that scale is
// scrolled, not shrunk.
const (
	pitchX      = 98.0 // wanted between neighbouring supports, across the drawing
	pitchY      = 116.0
	pitchUpX    = 126.0 // the same where bearers run up the drawing and the numbers stand beside them
	pitchUpY    = 78.0
	leastScale  = 30.0 // px per metre
	mostScale   = 180.0
	apart       = 40.0 // the two ends at a butted join are drawn at least so far apart,
	apartUp     = 62.0 // and so far where the bearer runs up the drawing
	margin      = 76.0
	foot        = 110.0 // the margin below, for the scale and what stands off the floor
	touch       = 48.0  // least side of what can be touched
	datumReachM = 1.0   // a datum further off than this is drawn at the edge
)

// layout is where everything of a plan stands on the drawing.
type layout struct {
	scale    float64 // px per metre
	turn     int     // 0 to 3
	floor    box     // of the plan, in metres turned, y down
	supports map[string]point
	upright  map[string]bool    // the bearer over this support runs up the drawing
	outward  map[string]float64 // −1 or +1: the side away from the other end of a butted join
	paired   map[string]bool    // one of the two ends at a butted join
	joins    map[string]events.JoinSort
}

func newLayout(p jobs.Picture, turn int) *layout {
	l := &layout{
		turn:     ((turn % 4) + 4) % 4,
		supports: map[string]point{}, upright: map[string]bool{},
		outward: map[string]float64{}, paired: map[string]bool{},
		joins: map[string]events.JoinSort{},
	}
	l.floor = l.bounds(p)
	l.scale = scaleFor(p, l.turn)
	for _, s := range p.Supports {
		l.supports[s.ID] = l.at(s.X, s.Y)
		l.outward[s.ID] = -1
	}
	for _, b := range p.Plan.Bearers {
		l.along(b)
	}
	return l
}

// at puts a place of the plan, in metres with y upwards, on the drawing.
func (l *layout) at(x, y float64) point {
	t := turned(x, y, l.turn)
	return point{(t.x-l.floor.x0)*l.scale + margin, (t.y-l.floor.y0)*l.scale + margin}
}

func (l *layout) outline(ps []events.Position) []point {
	at := make([]point, len(ps))
	for i, p := range ps {
		at[i] = l.at(p[0], p[1])
	}
	return at
}

// turned is a place in metres after quarter turns clockwise, y down.
func turned(x, y float64, turn int) point {
	switch turn {
	case 1:
		return point{y, x}
	case 2:
		return point{-x, y}
	case 3:
		return point{-y, -x}
	}
	return point{x, -y}
}

// sheet is the whole drawing in px.
func (l *layout) sheet() box {
	return box{0, 0, l.floor.wide()*l.scale + 2*margin, l.floor.high()*l.scale + margin + foot}
}

// bounds covers supports, rooms, walls and fixed things. Datums may be far off
// and do not widen the drawing.
func (l *layout) bounds(p jobs.Picture) box {
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	add := func(x, y float64) {
		t := turned(x, y, l.turn)
		b = b.with(box{t.x, t.y, t.x, t.y})
	}
	for _, s := range p.Supports {
		add(s.X, s.Y)
	}
	for _, s := range p.Spots {
		add(s.X, s.Y)
	}
	for _, o := range outlines(p.Plan) {
		for _, q := range o {
			add(q[0], q[1])
		}
	}
	if math.IsInf(b.x0, 0) {
		return box{0, 0, 4, 3}
	}
	return b
}

func outlines(p events.Plan) [][]events.Position {
	var all [][]events.Position
	for _, r := range p.Rooms {
		all = append(all, r.Outline)
	}
	for _, w := range p.Walls {
		all = append(all, []events.Position{w.From, w.To})
	}
	for _, things := range [][]events.Thing{p.Fixed, p.Doors, p.Hatches} {
		for _, t := range things {
			all = append(all, t.Outline)
		}
	}
	return all
}

// scaleFor gives neighbours room to be read and touched, in px per metre: as
// much as nine in ten supports need. The two ends at a butted join count as
// one; they are drawn apart.
func scaleFor(p jobs.Picture, turn int) float64 {
	if len(p.Supports) < 2 {
		return 80
	}
	px, py := pitchX, pitchY
	if mostlyUp(p, turn) {
		px, py = pitchUpX, pitchUpY
	}
	joined := buttedPairs(p.Plan)
	at := make([]point, len(p.Supports))
	for i, s := range p.Supports {
		at[i] = turned(s.X, s.Y, turn)
	}
	needed := make([]float64, len(p.Supports))
	for i, a := range at {
		own, other := p.Supports[i].ID, joined[p.Supports[i].ID]
		least := math.Inf(1)
		for j, b := range at {
			room := max(math.Abs(a.x-b.x)/px, math.Abs(a.y-b.y)/py)
			if room >= least {
				continue
			}
			if id := p.Supports[j].ID; id != own && id != other {
				least = room
			}
		}
		needed[i] = 1 / max(least, 1/mostScale)
	}
	slices.Sort(needed)
	return min(max(needed[len(needed)*9/10], leastScale), mostScale)
}

// mostlyUp reports whether most bearers run up the drawing.
func mostlyUp(p jobs.Picture, turn int) bool {
	at := map[string]point{}
	for _, s := range p.Supports {
		at[s.ID] = turned(s.X, s.Y, turn)
	}
	up := 0
	for _, b := range p.Plan.Bearers {
		if n := len(b.Supports); n > 1 {
			d := at[b.Supports[0]].towards(at[b.Supports[n-1]])
			if math.Abs(d.y) > math.Abs(d.x) {
				up++
			} else {
				up--
			}
		}
	}
	return up > 0
}

// buttedPairs tells for each end at a butted join the other one.
func buttedPairs(p events.Plan) map[string]string {
	pairs := map[string]string{}
	for _, b := range p.Bearers {
		for _, j := range b.Joins {
			if j.Sort == events.Butted && j.Other != "" {
				pairs[j.At], pairs[j.Other] = j.Other, j.At
			}
		}
	}
	return pairs
}

// along notes which way a bearer runs and draws the ends of its butted joins
// apart, so that both can be read and touched.
func (l *layout) along(b events.Bearer) {
	pairs := buttedPairs(events.Plan{Bearers: []events.Bearer{b}})
	for i, s := range b.Supports {
		from, to := b.Supports[max(i-1, 0)], b.Supports[min(i+1, len(b.Supports)-1)]
		d := l.supports[from].towards(l.supports[to])
		l.upright[s] = math.Abs(d.y) > math.Abs(d.x)
	}
	maps.Copy(l.joins, hingesOf(b))
	for i := 1; i < len(b.Supports); i++ {
		if a, c := b.Supports[i-1], b.Supports[i]; pairs[a] == c {
			l.spread(a, c)
		}
	}
}

func (l *layout) spread(a, b string) {
	pa, pb := l.supports[a], l.supports[b]
	d, least := pa.towards(pb), apart
	if l.upright[a] {
		least = apartUp
	}
	if by := (least - math.Hypot(pb.x-pa.x, pb.y-pa.y)) / 2; by > 0 {
		l.supports[a] = pa.plus(-d.x*by, -d.y*by)
		l.supports[b] = pb.plus(d.x*by, d.y*by)
	}
	l.paired[a], l.paired[b] = true, true
	l.outward[a], l.outward[b] = -1, 1
	if d.x < 0 || l.upright[a] && d.x == 0 && d.y < 0 {
		l.outward[a], l.outward[b] = 1, -1
	}
}
