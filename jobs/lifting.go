package jobs

import (
	"math"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// work is what stands at a support now and how it came to that.
type work struct {
	jack      *mark // the jack under it
	out       *mark // taken out
	packing   *events.Packing
	gap       *float64  // as measured since it was moved last, mm
	round     int       // the round it was moved in last
	liftedOn  time.Time // when it was moved last by a jack
	today     float64   // how far that day
	seat      float64   // how high what carries the bearer here stands above as found, mm
	seatMoves int       // the place's count of moves when that was known
	begun     bool      // something was done to what stands under the bearer here
	down      bool      // the jack was let down on the final packer
	fixed     bool
	inspected bool // the hole was seen by an inspector since it was dug
	poured    bool
	renewed   []WorkDone // the steps of replacing it, as recorded
	carries   string     // the date from which new concrete carries
	blocks    []string
	signed    *signature
	lastMove  time.Time // of anything in reach
	moved     string    // what moved last beside it
}

// mark remembers who did something, when, and by which event.
type mark struct {
	at  time.Time
	by  events.ID
	seq int64
}

func markOf(e placed) mark { return mark{e.key.at, e.By, e.Seq} }

// gaugeSD is how well each gauge tells a lift, mm.
func gaugeSD(g events.Gauge) float64 {
	switch g {
	case events.Dial:
		return levelling.DialSD
	case events.Turns:
		return levelling.TurnsSD
	}
	return levelling.RuleSD
}

// touch remembers the last event at each place.
func (s *State) touch(e placed, names ...string) {
	for _, name := range names {
		p := s.place(name)
		p.lastSeq = max(p.lastSeq, e.Seq)
		s.keepFigure(e, p)
	}
}

// startWork ends the survey: what was read so far is how the floor was.
func (s *State) startWork() {
	if s.working {
		return
	}
	s.working = true
	for _, p := range s.places {
		p.survey = p.freeze()
	}
}

func (s *State) jackUp(e placed, b *events.Jacking) {
	s.startWork()
	s.workDay(e, b.Moves[0].Support+" was jacked")
	all := moves{}
	for _, m := range b.Moves {
		all[m.Support] = levelling.Height{MM: m.By.MM()}
	}
	passed := s.passedOn(all)
	s.freezeFound(all, passed)
	for _, m := range b.Moves {
		p := s.place(m.Support)
		s.flagUneasyMove(e, p)
		p.work.begun = true
		if p.work.jack == nil {
			k := markOf(e)
			p.work.jack = &k
		}
		// Whatever was packed no longer bears.
		p.work.packing, p.work.down, p.work.fixed = nil, false, false
		s.countMove(e, p, m.By.MM())
		s.flagPush(e, m)
		p.work.gap = nil
		p.move(m.By.MM(), gaugeSD(m.Gauge))
		s.setSeat(p, m.By.MM())
		s.wentUp(e, p)
	}
	s.along(e, passed)
}

// countMove notes a move in its round and its day. Whoever is moved a second
// time begins another round.
func (s *State) countMove(e placed, p *place, by float64) {
	w := &p.work
	if s.round == 0 || w.round == s.round {
		s.round++
	}
	w.round = s.round
	if !sameDay(w.liftedOn, e.key.at) {
		w.today = 0
	}
	w.liftedOn, w.today = e.key.at, w.today+math.Abs(by)
}

// freezeFound keeps how places were found, before the first move that reaches
// them. Any may reach a spot.
func (s *State) freezeFound(all moves, passed map[string]drift) {
	freeze := func(id string) {
		if p := s.place(id); p.asFound == nil {
			p.asFound = p.freeze()
		}
	}
	for id := range all {
		freeze(id)
	}
	for id := range passed {
		freeze(id)
	}
	for _, at := range s.floor.plan.Spots {
		freeze(at.ID)
	}
}

// wentUp notes that a place was moved itself.
func (s *State) wentUp(e placed, p *place) {
	s.shifts, s.shiftedAt = s.shifts+1, e.key.at
	p.work.lastMove = e.key.at
	s.lapse(e, p, p.id+" moved after it was signed")
	s.changed(e, p.id)
}

// setSeat notes how high what carries a place stands from now on: where the
// bearer is, or where that is not known, so much higher than before.
func (s *State) setSeat(p *place, by float64) {
	p.work.seat += by
	if risen, known := s.risenBy(p); known {
		p.work.seat = risen.MM
	}
	p.work.seatMoves = p.moves
}

// readSeat corrects it by a reading after the last move: the bearer lies on it.
func (s *State) readSeat(p *place) {
	if p.work.begun && p.moves == p.work.seatMoves {
		s.setSeat(p, 0)
	}
}

// moved tells everything in reach of a support that it moved, by nobody knows
// quite how much.
func (s *State) moved(e placed, id string, by levelling.Height) {
	s.wentUp(e, s.place(id))
	s.along(e, s.passedOn(moves{id: by}))
}

// changed remembers who changed what stands at some places, so that a signature
// by somebody who had not seen it does not stand.
func (s *State) changed(e placed, names ...string) {
	for _, name := range names {
		p := s.place(name)
		if p.changes == nil {
			p.changes = map[events.ID]int64{}
		}
		p.changes[e.Device] = max(p.changes[e.Device], e.Seq)
	}
	s.touch(e, names...)
}

func (s *State) pack(e placed, b *events.Packing) {
	s.startWork()
	s.flagStopped(e, b.Support, "packed")
	w := &s.place(b.Support).work
	s.lapse(e, s.place(b.Support), "its packing changed after it was signed")
	packing := *b
	w.packing, w.begun = &packing, true
	if b.Gap != nil {
		gap := b.Gap.MM()
		w.gap = &gap
	}
	if b.Sort == events.Final && w.jack == nil {
		w.down = true // packed without a jack: it bears already
	}
	if b.Sort == events.Temporary {
		w.down = false
	}
	if w.jack == nil {
		s.setSeat(s.place(b.Support), 0)
	}
	if w.out != nil {
		s.flag(e, b.Support+": packed while it is out; record when the new one is set")
	}
	s.changed(e, b.Support)
}

func (s *State) jackDown(e placed, b *events.JackDown) {
	p := s.place(b.Support)
	w := &p.work
	if w.jack == nil {
		s.flag(e, b.Support+": the jack was let down, and none was recorded there")
	}
	if w.packing == nil {
		s.flag(e, b.Support+": the jack was let down without packing")
	}
	s.flagLoaded(e, p)
	delete(s.adrift, b.Support)
	w.jack = nil
	w.down = w.packing != nil && w.packing.Sort == events.Final
	lost := s.letDown(p)
	p.move(-lost.MM, lost.SD)
	s.setSeat(p, -lost.MM)
	s.moved(e, b.Support, levelling.Height{MM: -lost.MM, SD: lost.SD})
}
