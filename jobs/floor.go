package jobs

import (
	"fmt"
	"maps"
	"slices"

	"relevel/events"
	"relevel/levelling"
)

// floor is the plan as it stands: the latest drawing, with what was found
// below added to it.
type floor struct {
	plan       events.Plan
	drawn      bool
	found      []find
	known      map[string]bool     // every place any plan or find knows
	neighbours map[string][]string // of each support, along its bearer
	bearerOf   map[string]string
	shares     map[string]string   // the other half of a butted join
	pairs      [][2]string         // supports that stand beside each other across the bearers
	beside     map[string][]string // the same, of each support
	bonds      []bond              // what binds supports that are moved
	girders    []*girder           // the lengths of bearer that bend as one
	order      []string            // every support and spot of the drawing
	placed     map[string]bool     // those and the datums: their position is known
}

// bond is two supports, by their place in the plan, that may not move far from each
// other, or are the two ends of a butted join and move as one.
type bond struct {
	a, b   int
	apartM float64
	butted bool
}

// find is what was found below, and the number of its event.
type find struct {
	events.Found
	seq int64
}

func newFloor() floor {
	return floor{known: map[string]bool{}}
}

func (s *State) takePlan(e placed, p *events.Plan) {
	s.floor.plan = clonePlan(*p)
	s.floor.drawn = true
	// Who draws a plan has put on it what he knew of, and left off what he did not
	// want: only a find that he had not seen is added to it.
	s.floor.found = slices.DeleteFunc(s.floor.found, func(f find) bool { return f.seq > 0 && f.seq <= e.SeenSeq })
	s.settlePlan()
	for _, d := range p.Datums {
		if d.Height != nil {
			s.giveHeight(e, d)
		}
	}
	s.touch(e, slices.Sorted(maps.Keys(s.floor.neighbours))...)
}

// giveHeight gives a datum the height it has on a plan. Heights read before it
// changed stay as they are, so somebody has to know.
func (s *State) giveHeight(e placed, d events.Datum) {
	p := s.place(d.ID)
	if mm := d.Height.MM(); p.planned && p.given.as.MM != mm && len(s.recent) > 0 {
		s.flagReckoned(e, fmt.Sprintf("%s is at %s mm on this plan, and set-ups before took it at %s mm: what was read on them is to be read again",
			d.ID, mmWords(mm), mmWords(p.given.as.MM)))
	}
	p.give(levelling.Height{MM: d.Height.MM(), SD: d.SDMM})
}

func (s *State) takeFound(e placed, f *events.Found) {
	if f.What == events.NoneHere {
		s.touch(e, s.reach(f.ID)...)
		s.place(f.ID).noneHere = true
		s.settlePlan()
		return
	}
	if slices.ContainsFunc(s.floor.plan.Datums, func(d events.Datum) bool { return d.ID == f.ID }) {
		s.setAside(e, f.ID+" is on the plan, and the laser is set up from it: give what was found another name")
		return
	}
	s.place(f.ID).noneHere = false
	s.floor.found = slices.DeleteFunc(s.floor.found, func(old find) bool { return old.ID == f.ID })
	s.floor.found = append(s.floor.found, find{*f, e.Seq})
	s.settlePlan()
	if s.floor.drawn && f.Bearer != "" && s.floor.bearerOf[f.ID] == "" && f.What == events.FoundSupport {
		s.flag(e, f.ID+" was found on "+f.Bearer+", which is on no plan: nothing is known to stand beside it")
	}
	s.touch(e, s.reach(f.ID)...)
}

// settlePlan adds what was found to the latest drawing and works out who
// stands beside whom.
func (s *State) settlePlan() {
	s.judging, s.posts = "", nil
	f := &s.floor
	drawn := map[string]bool{}
	for _, p := range f.plan.Supports {
		drawn[p.ID] = true
	}
	for _, p := range f.plan.Spots {
		drawn[p.ID] = true
	}
	for _, found := range f.found {
		if !drawn[found.ID] { // no later drawing has it
			f.add(found.Found)
		}
	}
	f.neighbours, f.bearerOf, f.shares = map[string][]string{}, map[string]string{}, map[string]string{}
	f.order, f.placed = nil, map[string]bool{}
	for _, p := range f.plan.Supports {
		f.known[p.ID] = true
		f.neighbours[p.ID] = nil
		s.place(p.ID).put(support, p.X, p.Y)
		f.order, f.placed[p.ID] = append(f.order, p.ID), true
	}
	for _, p := range f.plan.Spots {
		f.known[p.ID] = true
		s.place(p.ID).put(spot, p.X, p.Y)
		f.order, f.placed[p.ID] = append(f.order, p.ID), true
	}
	for _, p := range f.plan.Datums {
		f.known[p.ID] = true
		s.place(p.ID).put(datum, p.X, p.Y)
		f.placed[p.ID] = true
	}
	for _, b := range f.plan.Bearers {
		f.line(b, func(id string) bool { return s.place(id).noneHere })
	}
	f.pairs, f.beside = pairsAcross(f.plan.Supports, f.bearerOf), map[string][]string{}
	for _, p := range f.pairs {
		f.beside[p[0]] = append(f.beside[p[0]], p[1])
		f.beside[p[1]] = append(f.beside[p[1]], p[0])
	}
	f.bonds = f.bind()
	f.girders = s.girders()
	s.weigh()
}

// bind lists what binds the supports: along the bearers first, then across them.
func (f *floor) bind() (all []bond) {
	index := make(map[string]int, len(f.plan.Supports))
	for i, at := range f.plan.Supports {
		index[at.ID] = i
	}
	between := func(one, other string, butted bool) {
		i, known := index[one]
		j, also := index[other]
		if known && also {
			a, b := f.plan.Supports[i], f.plan.Supports[j]
			all = append(all, bond{i, j, levelling.Distance(a.X, a.Y, b.X, b.Y), butted})
		}
	}
	for _, at := range f.plan.Supports {
		for _, other := range f.neighbours[at.ID] {
			if at.ID < other {
				between(at.ID, other, false)
			}
		}
		if other := f.shares[at.ID]; at.ID < other {
			between(at.ID, other, true)
		}
	}
	for _, p := range f.pairs {
		between(p[0], p[1], false)
	}
	return all
}

// line makes the supports along one bearer each other's neighbours, past those
// that are not there. The two ends at a butted join share a stump, so they are
// neighbours too.
func (f *floor) line(b events.Bearer, noneHere func(string) bool) {
	before := ""
	for _, id := range b.Supports {
		f.bearerOf[id] = b.ID
		if noneHere(id) {
			continue
		}
		if before != "" {
			f.neighbours[before] = append(f.neighbours[before], id)
			f.neighbours[id] = append(f.neighbours[id], before)
		}
		before = id
	}
	for _, j := range b.Joins {
		if j.Sort == events.Butted {
			f.shares[j.At], f.shares[j.Other] = j.Other, j.At
		}
	}
}

// add puts a find on the drawing.
func (f *floor) add(found events.Found) {
	if found.What != events.FoundSupport {
		f.plan.Spots = append(f.plan.Spots, events.Spot{ID: found.ID, X: found.X, Y: found.Y})
		return
	}
	f.plan.Supports = append(f.plan.Supports, events.Support{ID: found.ID, X: found.X, Y: found.Y, Sort: found.Sort})
	for i := range f.plan.Bearers {
		b := &f.plan.Bearers[i]
		if b.ID == found.Bearer {
			after := slices.Index(b.Supports, found.After) // -1: before the first
			b.Supports = slices.Insert(b.Supports, after+1, found.ID)
		}
	}
}

// reach lists what a move at one support can move: itself and its neighbours
// along the bearer. (What the joists pass on across bearers is left out.)
func (s *State) reach(id string) []string {
	return append([]string{id}, s.floor.neighbours[id]...)
}

// clonePlan copies what the fold changes and what a reader might.
func clonePlan(p events.Plan) events.Plan {
	p.Supports = slices.Clone(p.Supports)
	p.Spots = slices.Clone(p.Spots)
	p.Datums = slices.Clone(p.Datums)
	p.Bearers = slices.Clone(p.Bearers)
	for i := range p.Bearers {
		p.Bearers[i].Supports = slices.Clone(p.Bearers[i].Supports)
	}
	if p.Loads != nil {
		loads := *p.Loads
		p.Loads = &loads
	}
	return p
}
