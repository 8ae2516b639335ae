package server

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/drawing"
	"relevel/server/web"
)

// grid is a plain floor to start a plan from: so many bearers with so many
// supports on each, evenly apart.
type grid struct {
	bearers, supports int
	along, across     float64 // metres between supports, and between bearers
	first, second     string  // what the datums stand on
}

// proposeGrid offers a plain grid while there is no plan. One that was asked for
// is drawn, and written into the form.
func proposeGrid(r *http.Request, v view, page *web.RecordPage) {
	if len(v.picture.Plan.Supports) > 0 {
		return
	}
	page.Grid = &web.GridStart{Bearers: "4", Supports: "6", Along: "1.8", Across: "2.4"}
	q := r.URL.Query()
	if !q.Has("bearers") {
		return
	}
	g, wrong := gridOf(q)
	page.Grid = &web.GridStart{
		Bearers: q.Get("bearers"), Supports: q.Get("supports"), Along: q.Get("along"), Across: q.Get("across"),
		First: g.first, Second: g.second, Wrong: wrong,
	}
	if len(wrong) > 0 {
		return
	}
	plan := g.plan()
	if text, err := json.MarshalIndent(plan, "", "  "); err == nil {
		page.Values.Set("document", string(text))
		page.Grid.Floor = svg(drawing.Floor(asDrawn(plan), drawing.Options{Words: v.firm.Words.Words(), Units: v.firm.Units}))
	}
}

// gridOf reads a grid from what was filled in, and says what is wrong with it.
func gridOf(q url.Values) (grid, web.Wrong) {
	wrong := web.Wrong{}
	whole := func(name string, most int) int {
		n, err := strconv.Atoi(strings.TrimSpace(q.Get(name)))
		if err != nil || n < 1 || n > most {
			wrong[name] = fmt.Sprintf("a whole number from 1 to %d", most)
		}
		return n
	}
	metres := func(name string) float64 {
		v, err := web.Measure(q.Get(name))
		if err != nil || !(v > 0 && v <= 20) {
			wrong[name] = "metres, more than 0 and up to 20"
		}
		return v
	}
	g := grid{bearers: whole("bearers", 40), supports: whole("supports", 60), along: metres("along"), across: metres("across"),
		first: strings.TrimSpace(q.Get("first")), second: strings.TrimSpace(q.Get("second"))}
	return g, wrong
}

// plan draws the grid, with one datum off the building and another for it. The
// office moves, names and joins things afterwards.
func (g grid) plan() events.Plan {
	length := g.along * float64(g.supports-1)
	nought := events.MM(0)
	p := events.Plan{
		Datums: []events.Datum{
			{ID: "D1", X: -1, Y: -0.5, Height: &nought, StandsOn: g.first, OffBuilding: true},
			{ID: "D2", X: round(length + 0.6), Y: -0.5, StandsOn: g.second},
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

// asDrawn is a plan as a job shows it before anything was read.
func asDrawn(p events.Plan) jobs.Picture {
	picture := jobs.Picture{Plan: p}
	for _, s := range p.Supports {
		picture.Supports = append(picture.Supports, jobs.Support{ID: s.ID, X: s.X, Y: s.Y, State: jobs.IsFound})
	}
	for _, d := range p.Datums {
		picture.Datums = append(picture.Datums, jobs.Datum{ID: d.ID, X: d.X, Y: d.Y, StandsOn: d.StandsOn})
	}
	return picture
}

// round keeps a plan readable: nobody measures below a millimetre.
func round(metres float64) float64 {
	v, _ := strconv.ParseFloat(strconv.FormatFloat(metres, 'f', 3, 64), 64)
	return v
}
