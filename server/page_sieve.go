package server

import (
	"context"
	"slices"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// How a filtered page of the book reads on its way back: in few large pieces, so
// far that one page is quick on the longest job.
var sifting = stride{step: 1000, most: 5000}

// sieve lets through the lines of the book that a filter asks for.
type sieve struct {
	web.BookFilter
	by, setup events.ID
	zone      *time.Location
	names     map[events.ID]string
	flags     map[events.ID][]string
	text      string
}

func (v view) sieve(f web.BookFilter) sieve {
	s := sieve{BookFilter: f, zone: v.zone, names: v.names, flags: v.flagsByEvent(), text: strings.ToLower(f.Text)}
	s.by, _ = events.ParseID(f.By) // what is no id is nobody's
	s.setup, _ = events.ParseID(f.Setup)
	return s
}

// passes looks at what an event says of itself, which most do not pass.
func (s sieve) passes(e events.Stored) bool {
	switch {
	case s.Kind != "" && string(e.Kind) != s.Kind,
		s.By != "" && e.By != s.by,
		s.Day != "" && e.At.In(s.zone).Format(time.DateOnly) != s.Day,
		s.Stage != "" && !slices.ContainsFunc(e.Files, func(f events.File) bool { return s.Stage == "any" || string(f.Stage) == s.Stage }),
		s.Place != "" && !names(e, s.Place):
		return false
	}
	return s.Setup == "" || e.ID == s.setup || refersTo(e, s.setup)
}

// refersTo reports whether an event rests on another.
func refersTo(e events.Stored, id events.ID) bool {
	if e.Erased {
		return false
	}
	body, err := events.Open(e.Kind, e.V, e.Body)
	return err == nil && slices.Contains(events.Refers(body), id)
}

// keeps looks at a line as the book has it.
func (s sieve) keeps(l jobs.Line, e events.Stored) bool {
	if s.Counts && (l.Voided != "" || l.Aside != "" || e.Kind == events.KindVoid) {
		return false
	}
	if s.text == "" {
		return true
	}
	all := append([]string{l.What, l.Text, l.Voided, l.Aside, s.names[e.By]}, l.Points...)
	return strings.Contains(strings.ToLower(strings.Join(append(all, s.flags[e.ID]...), "\n")), s.text)
}

// sift looks back for the last lines before a number that a filter lets through:
// in the order of the book, with the number of the earliest event looked at.
func (p *pages) sift(ctx context.Context, v view, f web.BookFilter, before int64) (lines []web.BookLine, earliest int64, err error) {
	by := v.sieve(f)
	earliest, err = p.lookFar(ctx, v.key, before, sifting, func(stored []events.Stored) (bool, error) {
		passed := slices.DeleteFunc(stored, func(e events.Stored) bool { return !by.passes(e) })
		if len(passed) == 0 {
			return false, nil
		}
		err := p.states.use(ctx, v.key, func(state *jobs.State) {
			for _, e := range slices.Backward(passed) {
				if l := state.Line(e); by.keeps(l, e) && len(lines) <= bookLines {
					lines = append(lines, v.line(l, e, by.flags))
				}
			}
		})
		return len(lines) > bookLines, err
	})
	if len(lines) > bookLines { // the next page begins with the one too many
		lines = lines[:bookLines]
		earliest = lines[bookLines-1].Seq
	}
	slices.Reverse(lines)
	return lines, earliest, err
}
