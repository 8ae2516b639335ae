package server

import (
	"net/http"
	"net/url"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/drawing"
	"relevel/server/web"
)

// getLinesPage is GET /jobs/{job}/lines: the line along every bearer, in its
// place on the plan.
func (p *pages) getLinesPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page, then, err := p.drawnPage(w, r, v, "Lines")
	if err != nil {
		return err
	}
	o := v.options(turnOf(w, r, v))
	page.Note = "Along each " + o.Words.Bearer + ", in its place on the plan. All drawings have one scale."
	page.Prints = v.linePrints(then, o)
	return show(w, http.StatusOK, page)
}

// getShadingPage is GET /jobs/{job}/shading: how far the floor has to go, by
// room, before and now on one scale.
func (p *pages) getShadingPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page, then, err := p.drawnPage(w, r, v, "Shading")
	if err != nil {
		return err
	}
	page.Note = "The more ink, the further to go. All drawings have one scale."
	page.Prints = v.shadePrints(then, v.options(turnOf(w, r, v)))
	return show(w, http.StatusOK, page)
}

// drawnPage is what both pages have in common, with the moment that the address
// asks for, nil for now.
func (p *pages) drawnPage(w http.ResponseWriter, r *http.Request, v view, heading string) (page web.DrawnPage, then *moment, err error) {
	page = web.DrawnPage{
		Frame: p.frame(r, v, heading+" of "+v.job.Name), Heading: heading, Turn: (turnOf(w, r, v) + 1) % 4,
		Around: v.around("/" + strings.ToLower(heading)), Printed: v.now.Format("2 January 2006"),
		Other: web.Action{Verb: "Shading", Href: v.base() + "/shading"},
	}
	if heading == "Shading" {
		page.Other = web.Action{Verb: "Lines", Href: v.base() + "/lines"}
	}
	page.Live = v.live()
	if page.Days, err = p.daysOf(r, v); err != nil {
		return page, nil, err
	}
	if page.AsOf = r.URL.Query().Get("as_of"); page.AsOf != "" {
		page.Other.Href += "?as_of=" + url.QueryEscape(page.AsOf)
		then, err = p.momentOf(r, v, page.Days)
	}
	return page, then, err
}

// drawn are the drawings for which a desk has room beside the plan. They are
// shrunk to fit, so that only the plan's supports are there to be touched.
func (v view) drawn(o drawing.Options) web.Drawn {
	if len(v.shown()) == 0 {
		return web.Drawn{}
	}
	o.Link = nil
	drawn := web.Drawn{Lines: svg(drawing.StringLines(v.picture, o)), Shading: v.shadings(o)}
	drawn.Shading = drawn.Shading[max(len(drawn.Shading)-2, 0):] // before and after
	return drawn
}

// whenWords name the times of which the heights are drawn.
var whenWords = map[drawing.When]string{drawing.Survey: "Survey", drawing.AsFound: "As found", drawing.Now: "Now"}

func (v view) shadings(o drawing.Options) []web.Print {
	var prints []web.Print
	for _, when := range v.shown() {
		prints = append(prints, web.Print{Name: whenWords[when], SVG: svg(drawing.Shading(v.picture, when, o))})
	}
	return prints
}

// shown are the times of which the heights are known and are not those of the
// time before.
func (v view) shown() []drawing.When {
	var shown []drawing.When
	last := map[string]float64{}
	for _, w := range []struct {
		when drawing.When
		of   func(jobs.Support) *jobs.Figure
	}{
		{drawing.Survey, func(s jobs.Support) *jobs.Figure { return s.Survey }},
		{drawing.AsFound, func(s jobs.Support) *jobs.Figure { return s.AsFound }},
		{drawing.Now, func(s jobs.Support) *jobs.Figure { return s.Present }},
	} {
		differs := false
		for _, s := range v.picture.Supports {
			if f := w.of(s); f != nil {
				mm, known := last[s.ID]
				differs = differs || !known || mm != f.MM
				last[s.ID] = f.MM
			}
		}
		if differs {
			shown = append(shown, w.when)
		}
	}
	return shown
}
