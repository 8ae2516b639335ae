package jobs

import (
	"maps"
	"slices"

	"relevel/events"
)

// clone returns a state that shares nothing with s that a fold changes.
func (s *State) clone() *State {
	c := *s
	setups := make(map[*setup]*setup, len(s.setups))
	twin := func(u *setup) *setup { return setups[u] }
	c.setups = make(map[events.ID]*setup, len(s.setups))
	for id, u := range s.setups {
		copied := *u
		setups[u], c.setups[id] = &copied, &copied
	}
	c.recent, c.live, c.planes = each(s.recent, twin), each(s.live, twin), each(s.planes, twin)

	c.clocks = s.clocks.clone()
	c.voids, c.aside, c.waits = maps.Clone(s.voids), maps.Clone(s.aside), maps.Clone(s.waits)
	c.gone, c.goneFiles = maps.Clone(s.gone), maps.Clone(s.goneFiles)
	c.flags, c.pending = slices.Clone(s.flags), maps.Clone(s.pending)
	c.floor = s.floor.clone()
	c.filter = s.filter.Clone()
	c.rises, c.begun, c.planned = nil, nil, nil
	c.losses = cloneLists(s.losses)
	c.stiff = mapped(s.stiff, again)
	c.apart = slices.Clone(s.apart)
	c.checks = cloneLists(s.checks)
	c.proposals, c.below, c.off, c.outSince = slices.Clone(s.proposals), again(s.below), slices.Clone(s.off), again(s.outSince)
	c.adrift, c.seen, c.resting = maps.Clone(s.adrift), maps.Clone(s.seen), maps.Clone(s.resting)
	c.diary = each(s.diary, Day.clone)
	c.block = make(map[string]*blocking, len(s.block))
	for name, b := range s.block {
		c.block[name] = b.clone()
	}
	c.lists = s.lists.clone()
	c.posts = nil
	c.places = make(map[string]*place, len(s.places))
	for id, p := range s.places {
		c.places[id] = p.clone(&c, twin)
	}
	return &c
}

// each maps a list.
func each[T any](list []T, to func(T) T) []T {
	if list == nil {
		return nil
	}
	out := make([]T, len(list))
	for i, x := range list {
		out[i] = to(x)
	}
	return out
}

// cloneLists copies lists by key.
func cloneLists[K comparable, V any](lists map[K][]V) map[K][]V {
	out := make(map[K][]V, len(lists))
	for k, list := range lists {
		out[k] = slices.Clone(list)
	}
	return out
}

// again copies what a pointer leads to; nil stays nil.
func again[T any](p *T) *T {
	if p == nil {
		return nil
	}
	c := *p
	return &c
}

func (c clocks) clone() clocks {
	c.sessions, c.devices = maps.Clone(c.sessions), maps.Clone(c.devices)
	return c
}

// clone copies the floor. Its neighbours and the like are made anew by every
// plan and are shared.
func (f floor) clone() floor {
	f.plan = clonePlan(f.plan)
	f.found, f.known, f.placed = slices.Clone(f.found), maps.Clone(f.known), maps.Clone(f.placed)
	return f
}

func (b *blocking) clone() *blocking {
	c := *b
	c.body.Supports = slices.Clone(b.body.Supports)
	return &c
}

func (p *place) clone(s *State, setups func(*setup) *setup) *place {
	c := *p
	c.filter = &s.filter
	c.given = again(p.given)
	if c.given != nil {
		c.given.odd = p.given.odd.clone(setups)
	}
	c.faces = make(map[events.Face]*face, len(p.faces))
	for name, f := range p.faces {
		c.faces[name] = f.clone(setups)
	}
	c.coverings = each(p.coverings, func(f *face) *face { return f.clone(setups) })
	c.readOn = setups(p.readOn)
	c.tied, c.reads = maps.Clone(p.tied), slices.Clone(p.reads)
	c.losing, c.guess = again(p.losing), again(p.guess)
	c.changes, c.figures = maps.Clone(p.changes), slices.Clone(p.figures)
	c.work = p.work.clone()
	return &c
}

func (f *face) clone(setups func(*setup) *setup) *face {
	c := *f
	c.on = each(f.on, setups)
	c.odd = f.odd.clone(setups)
	visited := func(v visit) visit {
		v.on = setups(v.on)
		return v
	}
	c.later.visits = each(f.later.visits, visited)
	if f.later.odd != nil {
		v := visited(*f.later.odd)
		c.later.odd = &v
	}
	return &c
}

func (o *odd) clone(setups func(*setup) *setup) *odd {
	if o == nil {
		return nil
	}
	return &odd{o.state, setups(o.on)}
}

func (w work) clone() work {
	w.jack, w.out, w.signed, w.gap = again(w.jack), again(w.out), again(w.signed), again(w.gap)
	w.blocks, w.renewed = slices.Clone(w.blocks), slices.Clone(w.renewed)
	return w
}

func (l lists) clone() lists {
	items := map[*Item]*Item{}
	item := func(it *Item) *Item {
		if it != nil && items[it] == nil {
			c := *it
			c.Supports = slices.Clone(it.Supports)
			items[it] = &c
		}
		return items[it]
	}
	for _, list := range l.all() {
		*list = each(*list, item)
	}
	l.byID = mapped(l.byID, item)
	l.tie = mapped(l.tie, func(t *tie) *tie {
		c := *t
		c.item, c.supports = item(t.item), slices.Clone(t.supports)
		return &c
	})
	l.cut = mapped(l.cut, func(k *cut) *cut {
		c := *k
		c.item = item(k.item)
		return &c
	})
	l.finding = mapped(l.finding, func(f *finding) *finding { return f.clone(item) })
	l.stop = mapped(l.stop, func(t *stop) *stop { return t.clone(item) })
	l.change = mapped(l.change, func(k *change) *change { return k.clone(item) })
	l.watch = maps.Clone(l.watch)
	return l
}

// all names every list of records.
func (l *lists) all() []*[]*Item {
	return []*[]*Item{
		&l.conditions, &l.safety, &l.ties, &l.cuts, &l.findings, &l.inspections, &l.below, &l.differences, &l.gaps,
		&l.incidents, &l.changes, &l.days, &l.handovers, &l.notes, &l.stops, &l.checks, &l.erasures,
	}
}

// mapped maps the values of a map.
func mapped[K comparable, V any](m map[K]V, to func(V) V) map[K]V {
	out := make(map[K]V, len(m))
	for k, v := range m {
		out[k] = to(v)
	}
	return out
}
