package jobs

import (
	"fmt"
	"math"
	"slices"

	"relevel/events"
	"relevel/levelling"
)

// sort of place.
type placeSort int

const (
	unplaced placeSort = iota // no plan had its turn yet
	support
	spot
	datum
)

// ownHeight is a datum's own height: given on the plan, taken as nought, or
// learned from the first set-up that read it beside another. That of a support
// or a spot that a set-up stood on before it was read is one of no known face.
type ownHeight struct {
	state levelling.Unknown
	moves int              // the place's count of moves when it was last read
	as    levelling.Height // as given; what the readings say is in the filter
	odd   *odd             // another height that a reading speaks for, until the next one decides
}

// place is a support, a spot or a datum, and all that is known about it.
type place struct {
	id       string
	sort     placeSort
	x, y     float64
	noneHere bool
	lastSeq  int64

	given   *ownHeight // a datum's height
	planned bool       // and a plan gave it
	doubted string     // a datum's, when a reading contradicts it

	filter    *levelling.Filter
	faces     map[events.Face]*face
	coverings []*face           // floor faces whose covering was taken up or laid over
	lastly    events.Face       // the face read last
	readOn    *setup            // and on which set-up
	tied      map[facePair]bool // faces that were both read between the same moves
	reads     []events.ID       // readings since the last move
	moves     int               // counts what may have moved it, so that readings of two faces can be told to belong together

	losing  *losing // a jack-down whose loss the next reading tells
	guess   *guess  // how far moves beside it led it to move, which the next reading tells
	survey  *frozen // when work began
	asFound *frozen // when something that can move it was raised

	work    work
	last    act                 // the last reading or move here
	changes map[events.ID]int64 // by each device, the number of its last event that changed what stands here
	figures []figure            // the last ones, oldest first
}

// facePair names two faces, one above the other.
type facePair struct{ upper, lower events.Face }

// frozen is what was known of a place at one time, by face, and the covering
// the floor had then.
type frozen struct {
	heights map[events.Face]levelling.Height
	surface string
}

func (s *State) place(id string) *place {
	p := s.places[id]
	if p == nil {
		p = &place{id: id, filter: &s.filter, faces: map[events.Face]*face{}, tied: map[facePair]bool{}}
		s.places[id] = p
	}
	return p
}

// supports are the places of the plan's supports, in its order.
func (s *State) supports() []*place {
	if s.posts == nil {
		for _, at := range s.floor.plan.Supports {
			s.posts = append(s.posts, s.place(at.ID))
		}
	}
	return s.posts
}

// give sets a datum's height by a plan. One that gives the same again changes
// nothing.
func (p *place) give(h levelling.Height) {
	if !p.planned || p.given.as != h {
		p.hold(h)
	}
	p.planned = true
}

// hold gives a datum a height known from elsewhere.
func (p *place) hold(h levelling.Height) {
	if p.given != nil {
		p.filter.Drop(p.given.state)
		p.given.odd.drop(p.filter)
	}
	p.given = &ownHeight{state: p.filter.Hold(h), moves: p.moves, as: h}
}

// fixed tells whether a place is a datum with a height of its own: nothing on the
// job moves it.
func (p *place) fixed() bool { return p.given != nil && p.sort != support && p.sort != spot }

func (p *place) put(sort placeSort, x, y float64) { p.sort, p.x, p.y = sort, x, y }

// facesDown is the order of the faces from the top.
var facesDown = []events.Face{events.FloorFace, events.BearerFace, events.SupportFace}

// pair puts two faces in order, the upper one first.
func pair(a, b events.Face) facePair {
	for _, f := range facesDown {
		if f == a {
			return facePair{a, b}
		}
		if f == b {
			return facePair{b, a}
		}
	}
	return facePair{a, b}
}

// across carries a height from one face of the place to another by their
// offset. It is false while the offset is unknown.
func (p *place) across(h levelling.Height, from, to events.Face) (levelling.Height, bool) {
	if from == to {
		return h, true
	}
	a, b := p.faces[to], p.faces[from]
	if !p.tied[pair(from, to)] || a == nil || b == nil {
		return levelling.Height{}, false
	}
	offset := p.filter.Between(a.state, b.state)
	return levelling.Upper(h, offset), true
}

// on returns what a set of heights by face says of one face: directly, or from
// another face by an offset.
func (p *place) on(to events.Face, heights map[events.Face]levelling.Height) (levelling.Height, bool) {
	if h, direct := heights[to]; direct {
		return h, true
	}
	for _, from := range facesDown {
		h, any := heights[from]
		if !any {
			continue
		}
		if there, known := p.across(h, from, to); known {
			return there, true
		}
	}
	return levelling.Height{}, false
}

// take counts one reading of a face.
func (p *place) take(name events.Face, surface string, l look) {
	f := p.faces[name]
	if f == nil || (name == events.FloorFace && surface != "" && f.surface != surface) {
		f = p.freshFace(name, surface)
	}
	f.take(p, l)
	p.lastly = name
	p.tie(name)
}

// freshFace starts a face without a history. A floor face whose covering was
// taken up or laid is a new face, and the old one is kept to tell how thick the
// covering is. A reading that names no covering is of the one before, or else
// in doubt.
func (p *place) freshFace(name events.Face, surface string) *face {
	if old := p.faces[name]; old != nil {
		p.putAside(old)
	}
	p.untie(name)
	f := &face{surface: surface}
	p.faces[name] = f
	return f
}

// putAside keeps the face of a covering that is no longer the floor's. One of
// the same name that was kept before is forgotten: a carpet that is laid again
// is not as thick as it was. So is the oldest of more than are worth keeping.
func (p *place) putAside(old *face) {
	old.odd.drop(p.filter)
	old.odd, old.doubt = nil, ""
	p.coverings = slices.DeleteFunc(p.coverings, func(f *face) bool {
		if f.surface == old.surface {
			p.filter.Drop(f.state)
		}
		return f.surface == old.surface
	})
	if len(p.coverings) == maxCoverings {
		p.filter.Drop(p.coverings[0].state)
		p.coverings = slices.Delete(p.coverings, 0, 1)
	}
	p.coverings = append(p.coverings, old)
}

// untie forgets which faces were read between the same moves as this one.
func (p *place) untie(name events.Face) {
	for k := range p.tied {
		if k.upper == name || k.lower == name {
			delete(p.tied, k)
		}
	}
}

// tie remembers the faces that were read between the same two moves. From then
// on a reading of one tells about the other.
func (p *place) tie(name events.Face) {
	f := p.faces[name]
	if f.odd != nil {
		return // nothing is learned from a reading in doubt
	}
	for other, o := range p.faces {
		if other != name && o.odd == nil && o.basis == WasRead && o.moves == p.moves {
			p.tied[pair(name, other)] = true
		}
	}
}

// move raises the bearer, and the floor on it, by what a jack did here. From
// now on their heights are expected, not read. The top of the support stays
// where it is.
func (p *place) move(by, sd float64) {
	p.disturb()
	p.filter.Move(p.together(), by, sd)
	for name, f := range p.faces {
		if name != events.SupportFace {
			f.basis, f.looks = IsExpected, 0
		}
	}
}

// disturb parts the readings before from those after.
func (p *place) disturb() {
	p.moves++
	p.reads = nil
}

// nudge says that something beside the place moved: it may have moved too, by
// nobody knows how much, half of it as likely as not.
func (p *place) nudge(by float64) { p.drift(0, math.Abs(by)*unreckoned) }

// drift moves a place along with something beside it.
func (p *place) drift(by, sd float64) {
	p.disturb()
	p.filter.Move(p.together(), by, sd)
}

// together is what moves as one when the place is jacked: the bearer and every
// floor face on it, and what a reading in doubt says of them.
func (p *place) together() []levelling.Unknown {
	all := p.mark()
	for _, f := range p.movable() {
		all = f.add(all)
	}
	return all
}

// mark is the height that a set-up gave a support or a spot which was not read
// before: it goes where the place goes.
func (p *place) mark() (all []levelling.Unknown) {
	if p.given == nil || p.fixed() {
		return nil
	}
	all = append(all, p.given.state)
	if p.given.odd != nil {
		all = append(all, p.given.odd.state)
	}
	return all
}

// movable are the faces that a move at the place carries, and its coverings.
func (p *place) movable() []*face {
	var all []*face
	for _, name := range []events.Face{events.FloorFace, events.BearerFace} {
		if f := p.faces[name]; f != nil {
			all = append(all, f)
		}
	}
	return append(all, p.coverings...)
}

// apart words a difference: "about 10 mm above".
func apart(by float64) string {
	word := "above"
	if by < 0 {
		word = "below"
	}
	return fmt.Sprintf("about %s mm %s", levelling.FormatMM(math.Abs(by)), word)
}

// present is the height of a face to act on. While a reading contradicts a
// single one, or only an expectation, neither is called wrong and the smaller
// lift counts.
func (p *place) present(f *face) levelling.Height { return p.filter.Height(p.actedOn(f)) }

// actedOn is the unknown whose height that is.
func (p *place) actedOn(f *face) levelling.Unknown {
	if f.odd != nil && f.looks <= 1 && p.filter.Height(f.odd.state).MM > p.filter.Height(f.state).MM {
		return f.odd.state
	}
	return f.state
}

// presentOn is the present height of one face: directly, or from another face by
// an offset.
func (p *place) presentOn(to events.Face) (levelling.Height, bool) {
	if f := p.faces[to]; f != nil {
		return p.present(f), true
	}
	for _, from := range facesDown {
		f := p.faces[from]
		if f == nil {
			continue
		}
		if there, known := p.across(p.present(f), from, to); known {
			return there, true
		}
	}
	return levelling.Height{}, false
}

// freeze keeps the faces whose height was read since the last move.
func (p *place) freeze() *frozen {
	z := &frozen{heights: map[events.Face]levelling.Height{}}
	for name, f := range p.faces {
		if f.basis == WasRead {
			z.heights[name] = p.present(f)
		}
	}
	if f := p.faces[events.FloorFace]; f != nil {
		z.surface = f.surface
	}
	return z
}

// stale tells whether something beside the place moved since a face was read.
func (p *place) stale(f *face) bool { return f.basis == WasRead && f.moves != p.moves }

// read tells whether anything was known when it was frozen.
func (z *frozen) read() bool { return z != nil && len(z.heights) > 0 }
