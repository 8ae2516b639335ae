package jobs

import (
	"math"
	"slices"

	"relevel/events"
	"relevel/levelling"
)

// drift is how a place moves along with one that was moved on purpose.
type drift struct {
	mm    perOctave // as each octave of the bearer's stiffness has it
	sd    float64   // beside what lies between them
	known bool      // the bearer was reckoned
	by    string    // what moved
}

// What a neighbour may move beside what a rigid support lets a bearer do, as a
// part of the lift: stumps and ground spring back as they are unloaded, joists
// pass something on. A simulated house on ground of 2 kN per mm moves its next
// neighbours by 6 parts of 100. Where no section is recorded, anything up to
// half of the lift is as likely as not.
const (
	nextTo     = 1.0 / 8
	unreckoned = 1.0 / 2
)

// leastDriftMM is what a support that is not the next one must be expected to
// move, by one octave at least, to be read again.
const leastDriftMM = 0.25

// moves are what one event moves on purpose, by place: how far and, where that
// is not measured, its ±.
type moves map[string]levelling.Height

// passedOn works out which other places the moves of one event move, and how
// far: those on the same bearer as far as it reaches, and always the next ones.
func (s *State) passedOn(all moves) map[string]drift {
	out := map[string]drift{}
	for id, by := range all {
		for _, other := range s.floor.neighbours[id] {
			if _, moved := all[other]; moved {
				continue
			}
			sd := (math.Abs(by.MM) + by.SD) * unreckoned
			if d, before := out[other]; !before || d.sd < sd || (d.sd == sd && id < d.by) {
				out[other] = drift{sd: sd, by: id}
			}
		}
	}
	for _, g := range s.floor.girders {
		if slices.ContainsFunc(g.supports, func(id string) bool { _, moved := all[id]; return moved }) {
			s.bend(g, all, out)
		}
	}
	return out
}

// bend puts what one bearer says of the moves in the place of the guess.
func (s *State) bend(g *girder, all moves, out map[string]drift) {
	by, ok := s.bending(g, all)
	if !ok {
		return
	}
	for i, id := range g.supports {
		if _, moved := all[id]; moved {
			continue
		}
		d, next := out[id]
		far := false
		for k := range by {
			far = far || math.Abs(by[k][i]) >= leastDriftMM
			d.mm[k] = by[k][i]
		}
		if next || far {
			d.sd, d.known = math.Max(d.sd/unreckoned*nextTo, leastDriftMM), true
			if d.by == "" {
				d.by = nearestMove(g, i, all)
			}
			out[id] = d
		}
	}
}

// bending is how far each octave of a bearer's stiffness moves each of its supports.
func (s *State) bending(g *girder, all moves) (by [len(octaves)][]float64, ok bool) {
	if !g.known() {
		return by, false
	}
	before := s.seats(g)
	for k, times := range octaves {
		was, fine := g.heights(before, times)
		if !fine {
			return by, false
		}
		after := slices.Clone(before)
		for i, id := range g.supports {
			if lift, moved := all[id]; moved {
				after[i] = was[i] + lift.MM // a jack begins where the bearer is
			}
		}
		now, fine := g.heights(after, times)
		if !fine {
			return by, false
		}
		by[k] = now
		for i := range now {
			by[k][i] -= was[i]
		}
	}
	return by, true
}

func nearestMove(g *girder, at int, all moves) string {
	best, off := "", len(g.supports)
	for i, id := range g.supports {
		if _, moved := all[id]; moved && max(i-at, at-i) < off {
			best, off = id, max(i-at, at-i)
		}
	}
	return best
}

// along moves the places that moves of one event carried with them.
func (s *State) along(e placed, passed map[string]drift) {
	for _, id := range s.floor.order {
		d, moved := passed[id]
		if !moved {
			continue
		}
		p := s.place(id)
		s.expectDrift(p, d)
		p.work.moved = d.by
		p.work.lastMove = e.key.at
		s.lapse(e, p, d.by+" moved after it was signed")
		s.changed(e, id)
	}
}

// expectDrift moves a place by what is expected, and remembers what each octave
// says, to learn from the next reading.
func (s *State) expectDrift(p *place, d drift) {
	g := s.guess(p)
	mean, sd := 0.0, 0.0
	if d.known {
		k := s.stiffnessOn(s.floor.bearerOf[p.id])
		mean, sd = k.expect(d.mm)
		sd = rss(sd, mean/float64(2+k.from)) // a model that no reading bore out is half believed
	}
	p.drift(mean, rss(sd, d.sd))
	if p.guess = g; g == nil || !d.known {
		p.guess = nil
		return
	}
	g.moves = p.moves
	g.var2 += float64(d.sd * d.sd)
	for k := range g.mm {
		g.mm[k] += d.mm[k]
	}
}

// guess is what a place was expected to do since it was last read: begun anew
// where its reading is still good. What is not known from a reading teaches
// nothing.
func (s *State) guess(p *place) *guess {
	if p.guess != nil && p.guess.moves == p.moves {
		return p.guess
	}
	f := p.freshest()
	if f == nil || f.odd != nil || s.setupDoubt(f) != "" {
		return nil
	}
	return &guess{face: p.lastly, before: p.present(f)}
}

// guess is how far a place was led to move by moves beside it.
type guess struct {
	face   events.Face
	before levelling.Height
	mm     perOctave
	var2   float64 // of what is not in the octaves, mm²
	moves  int     // the place's count of moves
}

// learnStiffness compares what a reading says with what the bearer led to
// expect. One that is kept apart decides nothing yet.
func (s *State) learnStiffness(e placed, p *place, l look) {
	g := p.guess
	if g == nil || g.moves != p.moves || g.face != p.lastly {
		p.guess = nil
		return
	}
	if p.faces[p.lastly].odd != nil || l.on.doubt != "" {
		return
	}
	p.guess = nil
	read := s.filter.Height(l.on.plane).MM - l.staff - g.before.MM
	sd := rss(g.before.SD, rss(l.sd, math.Sqrt(g.var2)))
	s.checkExpected(e, p, read, sd, g)
	s.teach(s.floor.bearerOf[p.id], read, sd, g.mm)
}

// stiffnessOn is what the readings say of a bearer so far.
func (s *State) stiffnessOn(bearer string) *stiffness {
	if k := s.stiff[bearer]; k != nil {
		return k
	}
	return unread()
}

// teach keeps what a reading says of a bearer.
func (s *State) teach(bearer string, read, sd float64, expected perOctave) {
	if s.stiff[bearer] == nil {
		s.stiff[bearer] = unread()
	}
	s.stiff[bearer].learn(read, sd, expected)
}
