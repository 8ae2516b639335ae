package jobs

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"relevel/events"
)

// Giving is what a hand-over begins with: all of it from the record, and none of
// it a reading, since the owner picks the places and sees them read.
type Giving struct {
	LeftOut     []string
	TiesNotBack []string
	Papers      []string
	Care        []string
	ComeBack    []string  // days, 2006-01-02
	Missing     []Lacking // before it; it blocks nothing
}

// Lacking is what one step of a job still wants.
type Lacking struct {
	Step string
	What []string
}

// Whether a floor still moves is said over a year or between like seasons alone, so
// a first visit half a year on and one after a whole one (common practice, no
// source).
const firstVisitMonths, secondVisitMonths = 6, 12

// Giving gathers what a hand-over on some day begins with, in the words of a region.
func (p Picture) Giving(all []Entry, now time.Time, words Words) Giving {
	g := Giving{ComeBack: []string{now.AddDate(0, firstVisitMonths, 0).Format(time.DateOnly), now.AddDate(0, secondVisitMonths, 0).Format(time.DateOnly)}}
	if p.Aim != nil {
		for _, id := range p.Aim.Agreed.LeftOut {
			g.LeftOut = append(g.LeftOut, strings.TrimSuffix(id+": "+p.Aim.Agreed.WhyLeftOut(id), ": "))
		}
	}
	for _, t := range Ties(all) {
		if t.State != TieBack {
			g.TiesNotBack = append(g.TiesNotBack, t.Tie.Tie)
		}
	}
	for _, i := range Inspections(all) {
		if i.Answer == "passed" {
			g.Papers = append(g.Papers, fmt.Sprintf("inspection passed, %s: %s, %s", i.Stage, i.Who, DayWords(i.Entry.At.Format(time.DateOnly))))
		}
	}
	for _, it := range p.Lists.Findings {
		if it.Open {
			g.Care = append(g.Care, it.Text+": not mended, it may drop again")
		}
	}
	if pads := p.newPads(); len(pads) > 0 {
		g.Care = append(g.Care, "new pads settle first: "+joinWords(pads))
	}
	g.Missing = p.lacking(words)
	return g
}

// newPads are the supports that stand on a pad of this job.
func (p Picture) newPads() (ids []string) {
	for _, s := range p.Supports {
		if slices.ContainsFunc(s.Renewal, func(d WorkDone) bool { return d.Done && d.Step == events.Poured }) {
			ids = append(ids, s.ID)
		}
	}
	return ids
}

// lacking is what is left of the steps before the hand-over, what is dangerous
// first.
func (p Picture) lacking(words Words) (out []Lacking) {
	add := func(step string, what []string) {
		if len(what) > 0 {
			out = append(out, Lacking{step, what})
		}
	}
	var stops, left, changes []string
	for _, it := range p.Stops {
		stops = append(stops, it.Text)
	}
	for _, l := range p.Left {
		left = append(left, l.Place+" "+words.Say(l.What))
	}
	for _, it := range p.Lists.Changes {
		if it.Open {
			changes = append(changes, it.Text)
		}
	}
	add("stopped", stops)
	add("left as it should not be", left)
	add("changes not answered", changes)
	for _, s := range p.Steps {
		if s.Name != "hand over" {
			add(s.Name, s.Missing)
		}
	}
	return out
}

// Visit is one day on which somebody was to come back.
type Visit struct {
	On   string // 2006-01-02
	Kept string // the day on which the floor was read for it; "" on none yet
	Due  bool   // the day has passed, and nothing was read
}

// Visits says which of the days on which somebody was to come back were kept: a
// day on which the floor was read counts for the one that it is nearest to.
func Visits(comeBack []string, all []Entry, handed, now time.Time) []Visit {
	var out []Visit
	for _, on := range comeBack {
		out = append(out, Visit{On: on, Due: on < now.Format(time.DateOnly)})
	}
	slices.SortFunc(out, func(a, b Visit) int { return strings.Compare(a.On, b.On) })
	for _, e := range Counting(all) {
		b, is := e.Body.(*events.Reading)
		if !is || b.NotRead != "" || !e.At.After(handed) || sameDay(e.At.In(now.Location()), handed.In(now.Location())) {
			continue
		}
		if v := nearest(out, e.At); v != nil && v.Kept == "" {
			v.Kept, v.Due = e.At.In(now.Location()).Format(time.DateOnly), false
		}
	}
	return out
}

// nearest is the visit whose day lies closest to a time.
func nearest(visits []Visit, at time.Time) (best *Visit) {
	least := time.Duration(0)
	for i := range visits {
		on, err := time.ParseInLocation(time.DateOnly, visits[i].On, at.Location())
		if err != nil {
			continue
		}
		if d := at.Sub(on).Abs(); best == nil || d < least {
			best, least = &visits[i], d
		}
	}
	return best
}
