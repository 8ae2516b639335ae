package jobs

import (
	"fmt"
	"slices"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// face is one face of a place. Its height is an unknown of the filter: what the
// readings and the moves say together.
type face struct {
	surface string
	state   levelling.Unknown
	basis   Basis    // "" before its first reading
	looks   int      // readings since the last move
	on      []*setup // their set-ups
	moves   int      // the place's count of moves when it was last read
	at      time.Time
	odd     *odd   // a reading kept apart until the next one decides
	doubt   string // what is to be said about it
	later   visits // what it read since it last moved
}

// odd is a height that one reading speaks for, against all others. It moves as
// its face does until the next reading decides between them.
type odd struct {
	state levelling.Unknown
	on    *setup
}

func (o *odd) drop(f *levelling.Filter) {
	if o != nil {
		f.Drop(o.state)
	}
}

// look is one staff reading on a set-up's plane, its instrument's error taken off.
type look struct {
	on    *setup
	staff float64
	sd    float64
	at    time.Time
}

// add lists the unknowns of a face.
func (f *face) add(all []levelling.Unknown) []levelling.Unknown {
	if f.basis != "" {
		all = append(all, f.state)
	}
	if f.odd != nil {
		all = append(all, f.odd.state)
	}
	return all
}

// take counts a look at the face. One that contradicts what is known is kept
// apart; the next one decides. It agrees with the estimate, and the odd one
// stays out; it agrees with the odd one, and the face starts anew from both.
func (f *face) take(p *place, l look) {
	f.at = l.at
	if f.moves != p.moves { // something moved since: the old readings are an expectation
		f.looks, f.on = 0, nil
		if f.basis == WasRead {
			f.basis = IsExpected
		}
	}
	f.moves = p.moves
	if f.basis == "" {
		f.state = p.filter.Enter(l.on.plane, -l.staff, l.sd)
		f.settle(p, l)
		return
	}
	by, isOdd := p.filter.Test(f.state, l.on.plane, -l.staff, l.sd)
	if !isOdd {
		p.filter.Observe(f.state, l.on.plane, -l.staff, l.sd)
		f.settle(p, l)
		return
	}
	if f.odd != nil {
		if _, still := p.filter.Test(f.odd.state, l.on.plane, -l.staff, l.sd); !still {
			f.reopen(p, l, by)
			return
		}
	}
	f.odd.drop(p.filter)
	f.odd = &odd{p.filter.Enter(l.on.plane, -l.staff, l.sd), l.on}
	f.doubt = fmt.Sprintf("%s what %s: read it again, or has it moved?", apart(by), f.known())
}

// settle notes a look that counts. What contradicted it stays out.
func (f *face) settle(p *place, l look) {
	f.looks++
	f.basis = WasRead
	f.stands(l.on)
	f.odd.drop(p.filter)
	f.odd, f.doubt = nil, ""
}

func (f *face) stands(on *setup) {
	if !slices.Contains(f.on, on) {
		f.on = append(f.on, on)
	}
}

// anyMM stands for a move of nobody knows how much: what is known after it is
// what is read after it.
const anyMM = 1e4

// exactMM ties two unknowns that are one and the same, as well as numbers can.
const exactMM = 1e-4

// reopen starts the face anew from the odd reading and the one that bears it
// out: nothing is averaged across a jump. What was not read since the last move
// has moved with it, for all that is known.
func (f *face) reopen(p *place, l look, by float64) {
	p.filter.Move(p.rigid(f), 0, anyMM)
	p.filter.Observe(f.state, f.odd.state, 0, exactMM)
	p.filter.Observe(f.state, l.on.plane, -l.staff, l.sd)
	f.looks, f.on = 2, []*setup{f.odd.on}
	f.stands(l.on)
	f.basis = WasRead
	f.odd.drop(p.filter)
	f.odd = nil
	f.doubt = fmt.Sprintf("moved, or misread before: two readings %s what was known", apart(by))
}

// rigid lists a face and what was not read since the last move: the other face
// that moves with it, and the coverings that lay there before. The odd height of
// the face itself stays where it is, and so does one that was read since.
func (p *place) rigid(f *face) []levelling.Unknown {
	all := []levelling.Unknown{f.state}
	if f == p.faces[events.SupportFace] {
		return all // the bearer above it may be on a jack
	}
	if p.given != nil && p.given.moves != p.moves {
		all = append(all, p.mark()...)
	}
	for _, o := range p.movable() {
		switch {
		case o == f:
		case o.moves != p.moves:
			all = o.add(all)
		case o.basis == IsExpected:
			all = append(all, o.state)
		}
	}
	return all
}

// forget lets go, before a face is read again, of what the readings of a set-up
// in doubt say of its place, all faces and coverings that stand on it alike:
// those of a better one replace them and are not averaged with them.
func (s *State) forget(p *place, read *face) {
	var all []levelling.Unknown
	for _, name := range facesDown {
		f := p.faces[name]
		if f == nil || s.setupDoubt(f) == "" {
			continue
		}
		f.odd.drop(p.filter)
		f.odd, f.doubt = nil, ""
		all = f.add(all)
	}
	for _, f := range p.coverings {
		if s.setupDoubt(f) != "" {
			all, f.on = f.add(all), nil
		}
	}
	if len(p.mark()) > 0 { // from now on the face that is read says where it is
		p.given.odd.drop(p.filter)
		p.filter.Drop(p.given.state)
		p.given = nil
	}
	p.filter.Move(all, 0, anyMM)
	read.looks, read.on = 0, nil
}

// letGo lets go of all that is known of a place but how its faces lie to one
// another: it may lie anywhere by now.
func (p *place) letGo() {
	p.disturb()
	p.filter.Move(p.together(), 0, anyMM)
}

// known says what a doubtful reading contradicts.
func (f *face) known() string {
	switch {
	case f.basis == IsExpected:
		return "the moves since the last reading lead one to expect"
	case f.looks == 1:
		return "the one reading before it says"
	}
	return fmt.Sprintf("the %d readings before it say", f.looks)
}
