package jobs

import (
	"fmt"
	"math"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// sort of place.
type placeSort int

const (
	support placeSort = iota
	spot
	datum
)

// figure is a height nobody measured here: given on the plan, or taken as nought.
type figure struct {
	mm, sd float64
}

// place is a support, a spot or a datum, and all that is known about it.
type place struct {
	id       string
	sort     placeSort
	x, y     float64
	noneHere bool
	lastSeq  int64

	given   *figure // a datum's height
	planned bool    // and a plan gave it
	doubted string  // a datum's, when a reading contradicts it

	faces   map[events.Face]*face
	lastly  events.Face // the face read last
	readOn  *setup      // and on which set-up
	offsets map[facePair]levelling.Height
	reads   []events.ID // readings since the last move
	moves   int         // counts what may have moved it, so that readings of two faces can be told to belong together

	survey  map[events.Face]levelling.Height // frozen when work begins
	asFound map[events.Face]levelling.Height // frozen when something that can move it is raised

	work    work
	last    act                 // the last reading or move here
	changes map[events.ID]int64 // by each device, the number of its last event that changed what stands here
}

// facePair names an offset: how far upper lies above lower.
type facePair struct{ upper, lower events.Face }

// face is one face of a place. Its height is what the readings since the last
// move say; after a move it is what the move leads one to expect.
type face struct {
	surface string
	settled levelling.Settled
	height  levelling.Height
	basis   Basis
	moves   int // the place's count of moves when it was last read
	at      time.Time
	odd     *look  // a reading kept apart until the next one decides
	doubt   string // what is to be said about it
}

// look is one reading reduced to a height.
type look struct {
	raw    levelling.FaceReading
	height levelling.Height
	at     time.Time
}

func (s *State) place(id string) *place {
	p := s.places[id]
	if p == nil {
		p = &place{id: id, faces: map[events.Face]*face{}, offsets: map[facePair]levelling.Height{}}
		s.places[id] = p
	}
	return p
}

// give sets a datum's height by a plan.
func (p *place) give(mm float64) { p.given, p.planned = &figure{mm: mm}, true }

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
	k := pair(from, to)
	offset, known := p.offsets[k]
	if !known {
		return levelling.Height{}, false
	}
	if k.upper == to {
		return levelling.Upper(h, offset), true
	}
	return levelling.Lower(h, offset), true
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

// take counts one reading of a face and keeps the other faces in step.
func (p *place) take(name events.Face, surface string, l look) {
	f := p.faces[name]
	if f == nil || (name == events.FloorFace && surface != "" && f.surface != surface) {
		f = p.freshFace(name, surface)
	}
	f.take(l, p.moves)
	p.lastly = name
	p.tie(name)
}

// freshFace starts a face without a history. A floor face whose covering was
// taken up or laid is a new face: what tied the old one to the bearer is gone.
// A reading that names no covering is of the one before, or else in doubt.
func (p *place) freshFace(name events.Face, surface string) *face {
	for k := range p.offsets {
		if k.upper == name || k.lower == name {
			delete(p.offsets, k)
		}
	}
	f := &face{surface: surface}
	p.faces[name] = f
	return f
}

// tie learns the offsets to faces read between the same two moves, and carries
// the new height to faces that were read before the last move.
func (p *place) tie(name events.Face) {
	f := p.faces[name]
	if f.odd != nil {
		return // nothing is learned from a reading in doubt
	}
	for other, o := range p.faces {
		if other == name || o.odd != nil {
			continue
		}
		k := pair(name, other)
		switch {
		case o.basis == WasRead && o.moves == p.moves:
			if k.upper == name {
				p.offsets[k] = levelling.Offset(f.height, o.height)
			} else {
				p.offsets[k] = levelling.Offset(o.height, f.height)
			}
		default:
			if h, known := p.across(f.height, name, other); known {
				o.expect(h)
			}
		}
	}
}

// move raises every face by what a jack did here. From now on the heights are
// expected, not read.
func (p *place) move(by, sd float64) {
	p.disturb()
	for _, f := range p.faces {
		f.expect(levelling.Moved(f.height, by, sd))
	}
}

// disturb parts the readings before from those after.
func (p *place) disturb() {
	p.moves++
	p.reads = nil
}

// nudge says that something beside the place moved: it may have moved too, by
// nobody knows how much, half of it as likely as not.
func (p *place) nudge(by float64) {
	p.disturb()
	for _, f := range p.faces {
		f.height = levelling.Moved(f.height, 0, math.Abs(by)/2)
		f.odd, f.doubt = nil, ""
	}
}

func (f *face) expect(h levelling.Height) {
	f.height, f.basis = h, IsExpected
	f.settled = levelling.Settled{}
	f.odd, f.doubt = nil, ""
}

// forget drops the readings of a set-up in doubt: those of a better one replace
// them and are not averaged with them.
func (f *face) forget() {
	f.settled, f.basis = levelling.Settled{}, ""
	f.odd, f.doubt = nil, ""
}

// take counts a look at the face. One that contradicts what is known is kept
// apart; the next one decides. It agrees with the estimate, and the odd one
// stays out; it agrees with the odd one, and the face starts anew from both.
func (f *face) take(l look, moves int) {
	f.at = l.at
	if f.moves != moves { // something moved since: the old readings are an expectation
		f.settled = levelling.Settled{}
		if f.basis == WasRead {
			f.basis = IsExpected
		}
	}
	f.moves = moves
	if f.basis == "" {
		f.settle(l)
		return
	}
	by, odd := levelling.Disagrees(l.height, f.height)
	if !odd {
		f.settle(l)
		return
	}
	if f.odd != nil {
		if _, still := levelling.Disagrees(l.height, f.odd.height); !still {
			first := *f.odd
			f.settled = levelling.Settled{}
			f.settle(first)
			f.settle(l)
			f.doubt = fmt.Sprintf("moved, or misread before: two readings %s what was known", apart(by))
			return
		}
	}
	f.odd = &l
	f.doubt = fmt.Sprintf("%s what %s: read it again, or has it moved?", apart(by), f.known())
}

// settle adds a look to those that count.
func (f *face) settle(l look) {
	settled, err := f.settled.Add(l.raw)
	if err != nil {
		return // every look was checked before it came here
	}
	f.settled = settled
	f.height, _ = settled.Height()
	f.basis, f.odd, f.doubt = WasRead, nil, ""
}

// known says what a doubtful reading contradicts.
func (f *face) known() string {
	switch {
	case f.basis == IsExpected:
		return "the moves since the last reading lead one to expect"
	case f.settled.Count() == 1:
		return "the one reading before it says"
	}
	return fmt.Sprintf("the %d readings before it say", f.settled.Count())
}

// apart words a difference: "about 10 mm above".
func apart(by float64) string {
	word := "above"
	if by < 0 {
		word = "below"
	}
	return fmt.Sprintf("about %s mm %s", levelling.FormatMM(math.Abs(by)), word)
}

// present is the height to act on. While a reading contradicts a single one,
// or only an expectation, neither is called wrong and the smaller lift counts.
func (f *face) present() levelling.Height {
	if f.odd != nil && f.settled.Count() <= 1 && f.odd.height.MM > f.height.MM {
		return f.odd.height
	}
	return f.height
}

// heights gives the present height of every face.
func (p *place) heights() map[events.Face]levelling.Height {
	out := make(map[events.Face]levelling.Height, len(p.faces))
	for name, f := range p.faces {
		out[name] = f.present()
	}
	return out
}

// settledHeights gives the faces whose height was read since the last move.
func (p *place) settledHeights() map[events.Face]levelling.Height {
	out := map[events.Face]levelling.Height{}
	for name, f := range p.faces {
		if f.basis == WasRead {
			out[name] = f.present()
		}
	}
	return out
}

// stale tells whether something beside the place moved since a face was read.
func (p *place) stale(f *face) bool { return f.basis == WasRead && f.moves != p.moves }
