package server

import (
	"fmt"
	"net/http"
	"strconv"

	"relevel/events"
)

// grid is a plain floor to start a plan from: so many bearers with so many
// supports on each, evenly apart.
type grid struct {
	bearers, supports int
	along, across     float64 // metres between supports, and between bearers
}

// gridOf reads a grid from an address; false where it asks for none.
func gridOf(r *http.Request) (grid, bool) {
	q := r.URL.Query()
	whole := func(name string, most int) int {
		n, err := strconv.Atoi(q.Get(name))
		if err != nil || n < 1 || n > most {
			return 0
		}
		return n
	}
	metres := func(name string) float64 {
		v, err := strconv.ParseFloat(q.Get(name), 64)
		if err != nil || !(v > 0 && v <= 20) {
			return 0
		}
		return v
	}
	g := grid{whole("bearers", 40), whole("supports", 60), metres("along"), metres("across")}
	return g, g.bearers > 0 && g.supports > 0 && g.along > 0 && g.across > 0
}

// plan draws the grid, with one datum off the building and another for it. The
// office moves, names and joins things afterwards.
func (g grid) plan() events.Plan {
	length := g.along * float64(g.supports-1)
	nought := events.MM(0)
	p := events.Plan{
		Datums: []events.Datum{
			{ID: "D1", X: -1, Y: -0.5, Height: &nought, StandsOn: "say what", OffBuilding: true},
			{ID: "D2", X: round(length + 0.6), Y: -0.5, StandsOn: "say what"},
		},
		Street: events.Bottom,
	}
	for b := range g.bearers {
		bearer := events.Bearer{ID: fmt.Sprintf("B%d", b+1)}
		for n := range g.supports {
			id := fmt.Sprintf("%s-%d", bearer.ID, n+1)
			p.Supports = append(p.Supports, events.Support{ID: id, X: round(g.along * float64(n)), Y: round(g.across * float64(b))})
			bearer.Supports = append(bearer.Supports, id)
		}
		p.Bearers = append(p.Bearers, bearer)
	}
	return p
}

// round keeps a plan readable: nobody measures below a millimetre.
func round(metres float64) float64 {
	v, _ := strconv.ParseFloat(strconv.FormatFloat(metres, 'f', 3, 64), 64)
	return v
}
