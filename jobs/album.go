package jobs

import (
	"cmp"
	"slices"

	"relevel/events"
)

// Shot is one photo or sound of a job, with the record that it belongs to.
type Shot struct {
	events.File
	Of    string // what it shows: as its file says, else what its record is about; "" where neither does
	Entry Entry
	No    int // among the files of its record
}

// Subject is one thing of the job and what there is to see of it.
type Subject struct {
	Name   string
	Sort   string // support, spot, room, tie, floor cut or gap; "" where it is none of them
	Before []Shot
	During []Shot
	After  []Shot
	Unsaid []Shot // whose stage nobody said
}

// Shots are the photos and sounds of a job, in the order in which they were
// taken.
func Shots(all []Entry) []Shot {
	var out []Shot
	for _, e := range all {
		for i, f := range e.Files {
			if f.TakenAt.IsZero() {
				f.TakenAt = e.At
			}
			out = append(out, Shot{File: f, Of: cmp.Or(f.Subject, aboutOf(e.Body)), Entry: e, No: i})
		}
	}
	slices.SortStableFunc(out, func(a, b Shot) int {
		return cmp.Or(a.TakenAt.Compare(b.TakenAt), cmp.Compare(a.Entry.Seq, b.Entry.Seq), cmp.Compare(a.No, b.No))
	})
	return out
}

// aboutOf is the one thing that a record is about, "" where it is about none or
// about several.
func aboutOf(body events.Body) string {
	switch b := body.(type) {
	case *events.Condition:
		return b.Room
	case *events.Tie:
		return b.Tie
	case *events.TieFreed:
		return b.Tie
	case *events.TieBack:
		return b.Tie
	case *events.FloorCut:
		return b.Cut
	case *events.FloorClosed:
		return b.Cut
	case *events.GapReading:
		return b.Gap
	case nil:
		return ""
	}
	if points := body.Points(); len(points) == 1 {
		return points[0]
	}
	return ""
}

// Album groups shots by what they show: supports and spots in the order of the
// plan, then its rooms, then the rest by name, and last what shows nothing that
// somebody named.
func (p Picture) Album(shots []Shot) []Subject {
	order, sorts := p.subjects(shots)
	at := map[string]int{}
	var out []Subject
	for _, name := range order {
		at[name] = len(out)
		out = append(out, Subject{Name: name, Sort: sorts[name]})
	}
	for _, s := range shots {
		out[at[s.Of]].take(s)
	}
	return slices.DeleteFunc(out, func(s Subject) bool { return len(s.Before)+len(s.During)+len(s.After)+len(s.Unsaid) == 0 })
}

func (s *Subject) take(shot Shot) {
	switch shot.Stage {
	case events.Before:
		s.Before = append(s.Before, shot)
	case events.During:
		s.During = append(s.During, shot)
	case events.After:
		s.After = append(s.After, shot)
	default:
		s.Unsaid = append(s.Unsaid, shot)
	}
}

// subjects lists all that shots may show, in the order of an album.
func (p Picture) subjects(shots []Shot) (order []string, sorts map[string]string) {
	sorts = map[string]string{}
	add := func(name, sort string) {
		if _, known := sorts[name]; !known && name != "" {
			sorts[name] = sort
			order = append(order, name)
		}
	}
	for _, s := range p.Supports {
		add(s.ID, "support")
	}
	for _, s := range p.Spots {
		add(s.ID, "spot")
	}
	for _, r := range p.Plan.Rooms {
		add(r.Name, "room")
	}
	for _, it := range p.Lists.Ties {
		add(it.Name, "tie")
	}
	for _, it := range p.Lists.Cuts {
		add(it.Name, "floor cut")
	}
	for _, g := range p.Gaps {
		add(g.Name, "gap")
	}
	var rest []string
	for _, s := range shots {
		if _, known := sorts[s.Of]; !known {
			rest = append(rest, s.Of)
		}
	}
	slices.Sort(rest)
	for _, name := range rest {
		add(name, "")
	}
	return append(order, ""), sorts
}

// Lacks says which print of the pair of before and after is missing, "" where
// both are there or nothing was taken to be compared.
func (s Subject) Lacks() events.Stage {
	photos := func(shots []Shot) bool {
		return slices.ContainsFunc(shots, func(x Shot) bool { return x.Type == events.Photo && x.Entry.Apart == "" })
	}
	before, after := photos(s.Before), photos(s.After)
	switch {
	case before && !after:
		return events.After
	case after && !before:
		return events.Before
	}
	return ""
}
