package seam

import (
	"fmt"
	"strings"

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
		Link:     func(id string) string { return supports + segment(id) },
		Initials: func(id events.ID) string { return a.Initials[id] },
		Words:    a.Region.Words(),
		Units:    a.Units,
	}, nil
}

// plain is what needs no escape in any part of an address.
const plain = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~"

// segment is a name between two slashes of an address. Package net/url would be a
// hundredth of the download.
func segment(name string) string {
	var b strings.Builder
	for i := range len(name) {
		if strings.IndexByte(plain, name[i]) >= 0 {
			b.WriteByte(name[i])
		} else {
			fmt.Fprintf(&b, "%%%02X", name[i])
		}
	}
	return b.String()
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
