package jobs

import (
	"fmt"

	"relevel/events"
	"relevel/levelling"
)

// aim is what was agreed and the height it comes to.
type aim struct {
	seq    int64
	agreed events.Aim
	face   events.Face
	height *float64 // of every support on that face; nil: not worked out
	setBy  string
	out    map[string]bool   // left out
	on     map[string]string // the covering of each place when it was agreed
	mostly string            // and that of most of them
}

func (s *State) takeAim(e placed, b *events.Aim) {
	a := &aim{seq: e.Seq, agreed: *b, face: b.Face, out: map[string]bool{}}
	for _, id := range b.LeftOut {
		a.out[id] = true
	}
	if a.face == "" {
		a.face = s.judgedFace()
	}
	switch b.Aim {
	case events.AimLevel:
		h := b.Height.MM()
		a.height = &h
	case events.AimHighest:
		a.height, a.setBy = s.highest(a)
		if a.height != nil && s.inDoubt(s.place(a.setBy)) {
			s.flag(e, a.setBy+" sets the height of all others, and its reading is in doubt: read it again and agree again")
		}
	}
	s.noteCoverings(a)
	s.aim = a
	for _, id := range s.allSupports() {
		if r, known := s.remaining(s.place(id)); known && r.MM > s.within() {
			s.lapse(e, s.place(id), "the aim changed after it was signed")
		}
		s.touch(e, id)
	}
}

// judgedFace is the floor, unless nobody has read it on any support: then
// heights are meant on the face that was read.
func (s *State) judgedFace() events.Face {
	if s.aim != nil {
		return s.aim.face
	}
	if s.judging == "" {
		s.judging = s.upperRead()
	}
	return s.judging
}

func (s *State) upperRead() events.Face {
	for _, face := range facesDown {
		for id := range s.floor.neighbours {
			if s.place(id).faces[face] != nil {
				return face
			}
		}
	}
	return events.FloorFace
}

// highest finds the support that all others are brought up to.
func (s *State) highest(a *aim) (*float64, string) {
	var top *float64
	var by string
	for _, p := range s.floor.plan.Supports {
		if a.out[p.ID] || s.place(p.ID).noneHere {
			continue
		}
		h, known := s.place(p.ID).on(a.face, s.place(p.ID).heights())
		if known && (top == nil || h.MM > *top) {
			mm := h.MM
			top, by = &mm, p.ID
		}
	}
	return top, by
}

func (s *State) leftOut(id string) bool {
	return s.aim != nil && s.aim.out[id]
}

// target is the height a support is brought to, on the judged face.
func (s *State) target(id string) (float64, bool) {
	if s.aim == nil || s.aim.height == nil || s.leftOut(id) {
		return 0, false
	}
	return *s.aim.height + s.risen(s.place(id)), true
}

// noteCoverings remembers on what an aim was agreed.
func (s *State) noteCoverings(a *aim) {
	a.on = map[string]string{}
	if a.face != events.FloorFace {
		return
	}
	count := map[string]int{}
	for _, id := range s.floor.order {
		surface := s.place(id).surface()
		a.on[id] = surface
		if count[surface]++; surface != "" && count[surface] > count[a.mostly] {
			a.mostly = surface
		}
	}
}

// risen is how much higher than when the aim was agreed the floor's covering
// lies at a place now: a target moves with it.
func (s *State) risen(p *place) float64 {
	before := s.aim.on[p.id]
	if before == "" {
		before = s.aim.mostly
	}
	by, _ := s.rise(before, p.surface())
	return by.MM
}

// within is how far off its target a support may stay; without an agreed
// tolerance, what a screen of whole millimetres cannot show.
func (s *State) within() float64 {
	if s.aim != nil && s.aim.agreed.Tolerance.WithinMM > 0 {
		return s.aim.agreed.Tolerance.WithinMM
	}
	return 0.5
}

// remaining is the lift that is left at a support, with its uncertainty.
func (s *State) remaining(p *place) (Figure, bool) {
	target, aimed := s.target(p.id)
	if !aimed {
		return Figure{}, false
	}
	present, known := s.present(p)
	if !known {
		return Figure{}, false
	}
	return Figure{levelling.Remaining(target, present.MM), present.SD}, true
}

// present is the height of a place on the judged face.
func (s *State) present(p *place) (levelling.Height, bool) {
	return p.on(s.judgedFace(), p.heights())
}

// view returns the aim as pages show it.
func (a *aim) view() *Aim {
	if a == nil {
		return nil
	}
	return &Aim{Seq: a.seq, Agreed: a.agreed, Height: a.height, SetBy: a.setBy, Words: a.words()}
}

func (a *aim) words() string {
	within := ""
	if w := a.agreed.Tolerance.WithinMM; w > 0 {
		within = fmt.Sprintf(", within %s mm", mmWords(w))
	}
	switch {
	case a.agreed.Aim == events.AimLevel:
		return fmt.Sprintf("Level at %s mm on the %s%s", mmWords(*a.height), a.face, within)
	case a.agreed.Aim == events.AimHighest && a.height != nil:
		return fmt.Sprintf("Up to the highest, %s at %s mm on the %s%s", a.setBy, mmWords(*a.height), a.face, within)
	case a.agreed.Aim == events.AimHighest:
		return "Up to the highest: nothing was read before it was agreed, so there is no target yet"
	}
	return fmt.Sprintf("Aim %q: no targets are worked out for it, only for level and highest", a.agreed.Aim)
}
