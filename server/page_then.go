package server

import (
	"fmt"
	"net/http"
	"strconv"

	"relevel/jobs"
	"relevel/server/drawing"
	"relevel/server/web"
)

// moment is a job as it was known after some event.
type moment struct {
	name    string
	picture jobs.Picture
}

// daysOf are the days on which heights were read or changed, each by the last
// number of the book that its events have; the last day first.
func (p *pages) daysOf(r *http.Request, v view) ([]web.Choice, error) {
	entries, err := p.entries(r.Context(), v)
	if err != nil {
		return nil, err
	}
	var days []web.Choice
	for _, d := range jobs.HeightDays(entries, v.zone) {
		days = append(days, web.Choice{Value: strconv.FormatInt(d.Seq, 10), Label: "the evening of " + dayTitle(d.Date)})
	}
	return days, nil
}

// momentOf is the job as of a number of the book: ?as_of=.
func (p *pages) momentOf(r *http.Request, v view, days []web.Choice) (*moment, error) {
	seq, err := number(r, "as_of", 0, 0, 1<<53)
	if err != nil {
		return nil, err
	}
	out := &moment{name: fmt.Sprintf("After line %d of the book", seq)}
	for _, d := range days {
		if d.Value == strconv.FormatInt(seq, 10) {
			out.name = "Then, " + d.Label
		}
	}
	out.picture, err = p.pictureAsOf(r.Context(), v.key, seq, v.firm.Speech())
	return out, err
}

// linePrints are the lines as found, at the moment that was asked for, and now,
// all on one scale.
func (v view) linePrints(then *moment, o drawing.Options) (prints []web.Print) {
	type print struct {
		name    string
		picture jobs.Picture
	}
	var all []print
	for _, when := range v.shown() {
		all = append(all, print{whenWords[when], drawing.At(v.picture, when)})
	}
	if then != nil && anyHeight(then.picture) {
		at := max(len(all)-1, 0)
		all = append(all[:at], append([]print{{then.name, then.picture}}, all[at:]...)...)
	}
	var pictures []jobs.Picture
	for _, one := range all {
		pictures = append(pictures, one.picture)
	}
	o.Lines = drawing.ScaleOf(o.Turn, pictures...)
	for _, one := range all {
		prints = append(prints, web.Print{Name: one.name, SVG: svg(drawing.StringLines(one.picture, o))})
	}
	return prints
}

// shadePrints are the shadings as found, at the moment that was asked for, and
// now, all on one scale.
func (v view) shadePrints(then *moment, o drawing.Options) []web.Print {
	o.Darkest = drawing.Furthest(v.picture)
	if then == nil || !anyHeight(then.picture) {
		return v.shadings(o)
	}
	o.Darkest = max(o.Darkest, drawing.Furthest(then.picture))
	prints := v.shadings(o)
	at := max(len(prints)-1, 0)
	shaded := web.Print{Name: then.name, SVG: svg(drawing.Shading(then.picture, drawing.Now, o))}
	return append(prints[:at:at], append([]web.Print{shaded}, prints[at:]...)...)
}

func anyHeight(p jobs.Picture) bool {
	for _, s := range p.Supports {
		if s.Present != nil {
			return true
		}
	}
	return false
}
