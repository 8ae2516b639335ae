package jobs

import (
	"fmt"

	"relevel/events"
	"relevel/levelling"
)

// aim is what was agreed and the heights it comes to.
type aim struct {
	seq     int64
	agreed  events.Aim
	face    events.Face
	profile levelling.Profile  // what is level enough; no rules where nobody said
	height  *float64           // of every support on that face
	targets map[string]float64 // of each, where they differ
	asks    *levelling.Targets // what it asks for, of those whose height was known
	setBy   string
	why     string            // why it cannot be met, "" if it can
	out     map[string]bool   // left out
	on      map[string]string // the covering of each place when it was agreed
	mostly  string            // and that of most of them
}

// gives tells whether the aim comes to heights.
func (a *aim) gives() bool { return a != nil && (a.height != nil || a.targets != nil) }

func (s *State) takeAim(e placed, b *events.Aim) {
	a := &aim{seq: e.Seq, agreed: *b, face: b.Face, out: map[string]bool{}}
	for _, id := range b.LeftOut {
		a.out[id] = true
	}
	if a.face == "" {
		a.face = s.judgedFace()
	}
	s.noteCoverings(a)
	s.takeProfile(e, a)
	s.setTargets(e, a)
	if a.setBy != "" && s.inDoubt(s.place(a.setBy)) {
		s.flag(e, a.setBy+" sets the height of all others, and its reading is in doubt: read it again and agree again")
	}
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

func (s *State) leftOut(id string) bool {
	return s.aim != nil && s.aim.out[id]
}

// target is the height a support is brought to, on the judged face.
func (s *State) target(id string) (float64, bool) {
	if !s.aim.gives() || s.leftOut(id) {
		return 0, false
	}
	mm, known := s.aim.targets[id]
	if s.aim.height != nil {
		mm, known = *s.aim.height, true
	}
	if !known {
		return 0, false
	}
	return mm + s.risen(s.place(id)), true
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
	return p.presentOn(s.judgedFace())
}

// view returns the aim as pages show it.
func (a *aim) view(u levelling.Unit) *Aim {
	if a == nil {
		return nil
	}
	v := &Aim{Seq: a.seq, Agreed: a.agreed, Height: a.height, SetBy: a.setBy, Words: a.words(u), Why: u.Respell(a.why)}
	if a.asks != nil {
		v.TotalMM, v.GreatestMM, v.LowerMM, v.Moved = a.asks.TotalLift, a.asks.GreatestLift, a.asks.TotalLower, a.asks.Touched
	}
	return v
}

func (a *aim) words(u levelling.Unit) string {
	within := ""
	if w := a.agreed.Tolerance.WithinMM; w > 0 {
		within = ", within " + u.ShowWith(w)
	}
	switch {
	case a.agreed.Aim == events.AimLevel:
		return fmt.Sprintf("Level at %s on the %s%s", u.ShowWith(*a.height), a.face, within)
	case !a.gives() && a.why != "":
		return sentenceOf(a.agreed.Aim) + ": no targets, " + u.Respell(a.why)
	case !a.gives():
		return sentenceOf(a.agreed.Aim) + ": nothing was read before it was agreed, so there is no target yet"
	case a.agreed.Aim == events.AimHighest:
		return fmt.Sprintf("Up to the highest, %s at %s on the %s%s", a.setBy, u.ShowWith(*a.height), a.face, within)
	case a.agreed.Aim == events.AimPlane:
		return fmt.Sprintf("To a slope of %g mm per m along and %g across, set by %s, on the %s%s", a.agreed.Plane.X, a.agreed.Plane.Y, a.setBy, a.face, within)
	}
	return fmt.Sprintf("Least lift by %s, %s of margin kept, on the %s%s", a.profile.Title, u.ShowWith(a.agreed.MarginMM), a.face, within)
}

func sentenceOf(sort events.AimSort) string {
	switch sort {
	case events.AimHighest:
		return "Up to the highest"
	case events.AimPlane:
		return "To a slope"
	case events.AimLeast:
		return "As little lift as the limits ask"
	}
	return fmt.Sprintf("Aim %q", sort)
}
