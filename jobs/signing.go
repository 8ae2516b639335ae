package jobs

import (
	"fmt"
	"slices"

	"relevel/events"
)

// signature is one signature at one support.
type signature struct {
	mark
	stays   bool // the blocking stays, for a reason that was given
	lacking []string
	lapsed  string
}

// stands tells whether a support counts as signed.
func (g *signature) stands() bool { return g != nil && g.lapsed == "" && len(g.lacking) == 0 }

// lapse ends a signature that what happened since could have made untrue.
func (s *State) lapse(e placed, p *place, why string) {
	if g := p.work.signed; g != nil && g.lapsed == "" {
		g.lapsed = why
		s.flagReckoned(e, fmt.Sprintf("%s: %s, read it again", p.id, why))
	}
}

func (s *State) sign(e placed, b *events.Signed) {
	names := s.signedPlaces(b)
	for _, name := range names {
		p := s.place(name)
		g := s.signature(e, p, b)
		p.work.signed = g
		if len(g.lacking) > 0 {
			s.flag(e, fmt.Sprintf("%s was signed without: %s", name, joinWords(g.lacking)))
		}
		if p.unseenBy(e) {
			s.lapse(e, p, "who signed had not seen what another device recorded there")
		}
		s.touch(e, name)
	}
	if len(names) == 0 {
		s.flag(e, "signed: "+signedWords(b)+", and no support of the plan that is to be lifted stands there")
	}
	if b.Support == "" {
		s.list(e, b)
	}
}

// signature makes the signature of one support. That of a room or of the floor
// takes over the reason why a blocking stays.
func (s *State) signature(e placed, p *place, b *events.Signed) *signature {
	before := p.work.signed
	g := &signature{mark: markOf(e), stays: b.BlockingStays != "" || (b.Support == "" && before.stands() && before.stays)}
	g.lacking = s.missing(p, g.stays)
	if b.Support != "" && p.freshest() != nil && !slices.Contains(p.reads, b.Reading) {
		g.lacking = append(g.lacking, "a reading of this place since the last move: the one it rests on is another")
	}
	return g
}

// unseenBy tells whether another device changed what stands here before an
// event, and whoever recorded that could not know.
func (p *place) unseenBy(e placed) bool {
	for device, seq := range p.changes {
		if device != e.Device && seq > e.SeenSeq {
			return true
		}
	}
	return false
}

// checkSigned ends a signature that a later reading speaks against.
func (s *State) checkSigned(e placed, p *place, f *face) {
	switch r, known := s.remaining(p); {
	case f.odd != nil: // the next reading decides
	case f.doubt != "":
		s.lapse(e, p, "two readings after it was signed say otherwise")
	case known && r.MM > s.within():
		s.lapse(e, p, "a reading after it was signed leaves "+mmWords(r.MM)+" mm to go")
	}
}

// signedPlaces lists the supports that one signature speaks for. A room's or
// the floor's speaks for those that are to be lifted and stand in it.
func (s *State) signedPlaces(b *events.Signed) []string {
	if b.Support != "" {
		return []string{b.Support}
	}
	var names []string
	for _, p := range s.floor.plan.Supports {
		if s.leftOut(p.ID) || s.place(p.ID).noneHere {
			continue
		}
		if b.Floor || s.inRoom(b.Room, p.X, p.Y) {
			names = append(names, p.ID)
		}
	}
	return names
}

func (s *State) inRoom(name string, x, y float64) bool {
	for _, r := range s.floor.plan.Rooms {
		if r.Name == name && inside(r.Outline, x, y) {
			return true
		}
	}
	return false
}

// inside is the even-odd rule: count how many edges a ray to the right crosses.
func inside(outline []events.Position, x, y float64) bool {
	in := false
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		if (a[1] > y) != (b[1] > y) && x < a[0]+float64((y-a[1])/(b[1]-a[1])*(b[0]-a[0])) {
			in = !in
		}
	}
	return in
}
