package jobs

import (
	"maps"
	"slices"

	"relevel/events"
	"relevel/levelling"
)

// blocking is one stack that carries load.
type blocking struct {
	mark
	body    events.Blocking
	removed bool
}

// putBlocking records a stack. One of the same name that still stands may be
// another: whatever either of them carries is on blocking until that name is
// removed.
func (s *State) putBlocking(e placed, b *events.Blocking) {
	s.startWork()
	k := &blocking{mark: markOf(e), body: *b}
	k.body.Supports = union(nil, b.Supports)
	if old := s.block[b.Place]; old != nil && !old.removed {
		s.flag(e, b.Place+" was recorded before under that name: give another its own name")
		s.release(old)
		k.mark, k.body.Supports = old.mark, union(old.body.Supports, b.Supports)
	}
	s.block[b.Place] = k
	for _, name := range k.body.Supports {
		w := &s.place(name).work
		w.blocks = append(w.blocks, b.Place)
	}
	s.changed(e, k.body.Supports...)
	s.flagManyBlocked(e)
}

func (s *State) removeBlocking(e placed, b *events.BlockingRemoved) {
	k := s.block[b.Place]
	if k == nil || k.removed {
		s.setAside(e, "nothing of that name stands and carries: "+b.Place)
		return
	}
	s.release(k)
	for _, name := range k.body.Supports {
		p := s.place(name)
		if w := &p.work; w.out != nil && len(w.blocks) == 0 {
			s.flag(e, b.Place+" was taken away while "+name+" is out")
		}
		s.flagLoaded(e, p)
		s.moved(e, name, levelling.Height{SD: beddingSD})
		p.nudge(beddingSD) // its own load comes back onto it
		p.work.moved = itsBlocking
	}
}

func (s *State) release(k *blocking) {
	k.removed = true
	for _, name := range k.body.Supports {
		w := &s.place(name).work
		w.blocks = slices.DeleteFunc(w.blocks, func(b string) bool { return b == k.body.Place })
	}
}

// blockingViews lists the stacks that stand, by name.
func (s *State) blockingViews() []Blocking {
	var out []Blocking
	for _, name := range slices.Sorted(maps.Keys(s.block)) {
		if k := s.block[name]; !k.removed {
			out = append(out, Blocking{name, slices.Clone(k.body.Supports)})
		}
	}
	return out
}
