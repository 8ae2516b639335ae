package seam

import (
	"net/url"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/drawing"
)

// drawn is what a request says of a drawing.
type drawn struct {
	Turn     int                  `json:"turn"`
	Region   jobs.Region          `json:"region"`
	Initials map[events.ID]string `json:"initials"`
	Round    bool                 `json:"round"` // draw what the round under way says of each post
	Bearer   string               `json:"bearer"`
}

// sheet is one drawing, SVG for inclusion in the page.
type sheet struct {
	SVG string `json:"svg"`
}

// options are those of the server's pages, with links to places within the app: a
// name may hold any printable character, and decodeURIComponent gives it back.
func (a asked) options() (drawing.Options, error) {
	if !a.Region.Known() {
		return drawing.Options{}, levelling.Bad("region", "AU, NZ, UK or US")
	}
	supports := "#/job/" + a.Job.String() + "/support/"
	return drawing.Options{
		Turn:     a.Turn,
		Link:     func(id string) string { return supports + url.PathEscape(id) },
		Initials: func(id events.ID) string { return a.Initials[id] },
		Words:    a.Region.Words(),
	}, nil
}

func floor(b *book, a asked) (any, error) {
	o, err := a.options()
	if err != nil {
		return nil, err
	}
	p := b.picture(a.Now)
	if a.Round {
		o.Round = drawing.RoundOf(p.Rounds)
	}
	return sheet{drawing.Floor(p, o)}, nil
}

func section(b *book, a asked) (any, error) {
	o, err := a.options()
	if err != nil {
		return nil, err
	}
	s, known := b.picture(a.Now).Support(a.Support)
	if !known {
		return nil, levelling.Bad("support", "one of the plan")
	}
	return sheet{drawing.Section(s, s.Bearer, o)}, nil
}

// line is "" for a bearer of which nobody knows two heights.
func line(b *book, a asked) (any, error) {
	o, err := a.options()
	if err != nil {
		return nil, err
	}
	p := b.picture(a.Now)
	for _, bearer := range p.Plan.Bearers {
		if bearer.ID == a.Bearer {
			return sheet{drawing.StringLine(p, bearer, o)}, nil
		}
	}
	return nil, levelling.Bad("bearer", "one of the plan")
}
