package drawing

import (
	"relevel/events"
)

// drawBearers draws each bearer as a double line, broken at its joins, with
// its name at the near end.
func (l *layout) drawBearers(c *canvas, p events.Plan, taken *crowd) {
	for _, b := range p.Bearers {
		if len(b.Supports) == 0 {
			continue
		}
		for _, piece := range l.pieces(b) {
			drawPiece(c, piece, taken)
		}
		l.nameBearer(c, b, taken)
	}
}

// run is one length of timber between joins, from post to post. An end that
// lies on another length over the same post is a hinge and is not drawn longer.
type run struct {
	at                   []point
	hingeFrom, hingeTill bool
}

// pieces are the lengths a bearer is made of. A butted join parts two
// neighbours; any other parts the bearer over one support.
func (l *layout) pieces(b events.Bearer) []run {
	pairs := buttedPairs(events.Plan{Bearers: []events.Bearer{b}})
	hinges := hingesOf(b)
	var all []run
	var r run
	for i, s := range b.Supports {
		if i > 0 && pairs[b.Supports[i-1]] == s {
			all, r = append(all, r), run{}
		}
		r.at = append(r.at, l.supports[s])
		if hinges[s] != "" && i > 0 && i < len(b.Supports)-1 {
			r.hingeTill = true
			all, r = append(all, r), run{at: []point{l.supports[s]}, hingeFrom: true}
		}
	}
	return append(all, r)
}

// hingesOf tells at which supports of a bearer two lengths meet as a hinge.
func hingesOf(b events.Bearer) map[string]events.JoinSort {
	hinges := map[string]events.JoinSort{}
	for _, j := range b.Joins {
		if j.Sort != events.Butted {
			hinges[j.At] = j.Sort
		}
	}
	return hinges
}

// drawPiece draws one length of timber, a little longer than from post to post.
func drawPiece(c *canvas, r run, taken *crowd) {
	last := len(r.at) - 1
	for i := 1; i <= last; i++ {
		a, b := r.at[i-1], r.at[i]
		d := a.towards(b)
		if i == 1 && !r.hingeFrom {
			a = a.plus(-d.x*bearerEnd, -d.y*bearerEnd)
			across(c, a, d)
		}
		if i == last && !r.hingeTill {
			b = b.plus(d.x*bearerEnd, d.y*bearerEnd)
			across(c, b, d)
		}
		for _, side := range []float64{-underside, underside} {
			c.line("ink", a.plus(-d.y*side, d.x*side), b.plus(-d.y*side, d.x*side))
		}
		taken.add(around([]point{a, b}).grown(underside))
	}
}

// across closes the end of a double line that runs along d.
func across(c *canvas, at, d point) {
	c.line("ink", at.plus(-d.y*underside, d.x*underside), at.plus(d.y*underside, -d.x*underside))
}

func (l *layout) nameBearer(c *canvas, b events.Bearer, taken *crowd) {
	first := l.supports[b.Supports[0]]
	last := l.supports[b.Supports[len(b.Supports)-1]]
	if last.x < first.x {
		first, last = last, first
	}
	name := words{"bearer", b.ID, smallSize, letterWide}
	at := point{first.x - 34 - name.width(), first.y + 5}
	if l.upright[b.Supports[0]] {
		if last.y < first.y {
			first = last
		}
		at = point{first.x - name.width()/2, first.y - 34}
	}
	taken.add(box{at.x, at.y - smallSize, at.x + name.width(), at.y + 2})
	c.text("bearer", at, fromStart, b.ID)
}
