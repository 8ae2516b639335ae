package jobs

import (
	"fmt"
	"math"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// standing is the gravest word that is true of a support.
func (s *State) standing(p *place) Standing {
	w := &p.work
	switch {
	case w.out != nil:
		return IsOut
	case w.jack != nil && w.packing == nil:
		return OnJack
	case len(w.blocks) > 0:
		return OnBlocking
	case p.noneHere && w.jack == nil:
		return NotThere
	case s.lists.stopped(p.id) != nil:
		return IsStopped
	case w.jack != nil && w.packing.Sort == events.Temporary:
		return OnTemporary
	case w.jack != nil:
		return IsPacked
	case w.signed != nil && w.signed.lapsed != "" && p.freshest() == nil:
		return HasLapsed
	case w.signed.stands():
		return IsSigned
	case w.fixed && w.down:
		return IsFixed
	case w.down:
		return IsDown
	case w.packing != nil:
		return OnTemporary
	case len(p.faces) > 0:
		return IsRead
	}
	return IsFound
}

// due is what to do at a support now: in words, and the kind of event that
// records it, with its step where that is work on the support.
type due struct {
	words string
	kind  events.Kind
	step  events.WorkStep
	sort  events.PackingSort
	by    float64 // of a move, mm
}

// next says what to do at a support now.
func (s *State) next(p *place, now time.Time) due {
	for _, rule := range []func(*place, time.Time) due{s.nextStanding, s.nextBefore, s.nextReading, s.nextMove, s.nextMeanwhile, s.nextFinish} {
		if d := rule(p, now); d.words != "" {
			return d
		}
	}
	return due{words: "Done"}
}

// nextStanding: what stands against any work here.
func (s *State) nextStanding(p *place, now time.Time) due {
	w, stop := &p.work, s.lists.stopped(p.id)
	switch {
	case p.noneHere:
		return due{words: "Nothing stands here"}
	case stop != nil:
		return due{words: fmt.Sprintf("Stopped: %s. Go-ahead by %s", stop.Text, stop.Name), kind: events.KindGoAhead}
	case w.out != nil && len(w.blocks) == 0:
		return due{words: s.say("It is out and no blocking is recorded: block it now"), kind: events.KindBlocking}
	case w.holeOpen() && !w.inspected:
		return workDue(s.say("Have the hole seen by the inspector before it is filled"), events.SeenInspector)
	case w.holeOpen():
		return workDue("Pour the pad", events.Poured)
	case w.poured && w.carries == "":
		return workDue("Set the date from which the pad carries", events.CarriesFrom)
	case !w.padCarries(now):
		return due{words: "Wait: the pad carries from " + w.carries}
	case w.out != nil:
		return workDue("Set the new one", events.Set)
	}
	return due{}
}

// nextBefore: what has to come before a move.
func (s *State) nextBefore(p *place, _ time.Time) due {
	switch {
	case s.leftOut(p.id) && p.work.jack != nil:
		return due{words: "Left out, as agreed, and a jack stands there: let it down on packing", kind: events.KindJackDown}
	case s.leftOut(p.id):
		return due{words: "Left out, as agreed"}
	case len(p.faces) == 0:
		return readDue("Read it")
	case s.aim == nil:
		return due{words: "Agree the aim", kind: events.KindAim}
	case !s.aim.gives():
		return due{words: "Agree an aim that gives a height", kind: events.KindAim}
	}
	if ties := s.lists.openTies(p.id); len(ties) > 0 {
		return due{words: "Free first: " + joinWords(ties), kind: events.KindTieFreed}
	}
	return due{}
}

// nextReading: whether the height is known well enough to act on.
func (s *State) nextReading(p *place, _ time.Time) due {
	f := p.faces[p.lastly]
	switch {
	case f.odd != nil:
		return readDue("Read it again: " + s.respell(f.doubt))
	case s.setupDoubt(f) != "":
		return readDue("Read it again: " + s.respell(s.setupDoubt(f)))
	case p.freshest() == nil && p.work.jack != nil && p.work.packing == nil:
		return readDue("Read it, or pack under it first")
	case p.freshest() == nil && s.surelyLow(p):
		return due{}
	case p.freshest() == nil && p.work.moved != "" && f.basis == WasRead:
		return readDue("Read it: " + s.movedBeside(p) + " moved")
	case p.freshest() == nil:
		return readDue("Read it: it moved since")
	}
	if !s.judged(p) {
		return readDue("Read " + s.tieFaces(p))
	}
	return due{}
}

// itsBlocking is what moved where blocking was taken away.
const itsBlocking = "its blocking"

// movedBeside is what moved last beside a place.
func (s *State) movedBeside(p *place) string {
	if p.work.moved == itsBlocking {
		return s.say(itsBlocking)
	}
	return p.work.moved // a name
}

// surelyLow tells that a place that its bearer carried along since it was read
// has lift to go whatever a reading would say, and that its estimate is no worse
// than the roughest reading, by eye on a tape: it is read after its own move.
func (s *State) surelyLow(p *place) bool {
	r, known := s.remaining(p)
	return known && p.guess != nil && p.guess.moves == p.moves && r.SD <= levelling.TapeSD && r.MM > s.within()+float64(levelling.GuardFactor*r.SD)
}

// judged tells whether the face that is judged was read, or another that is
// tied to it: what a move leads one to expect of it judges nothing.
func (s *State) judged(p *place) bool {
	if _, known := s.remaining(p); !known {
		return false
	}
	basis, _, _ := s.basisOn(p, s.judgedFace())
	return basis == WasRead
}

// tieFaces says which two faces are to be read before one can be judged by the other.
func (s *State) tieFaces(p *place) string {
	return fmt.Sprintf("%s and %s between the same moves, to tie them", s.say(string(s.judgedFace())), s.say(string(p.lastly)))
}

// nextMove: whether there is lift to go.
func (s *State) nextMove(p *place, now time.Time) due {
	r, known := s.remaining(p)
	if !known {
		return due{}
	}
	down := s.toLower(p, r.MM)
	if ties := s.lists.tiesBack(p.id); len(ties) > 0 && (r.MM > s.within() || down > 0) {
		return due{words: "Free again before it moves: " + joinWords(ties), kind: events.KindTieFreed}
	}
	planned := s.aim != nil && len(roundLimits(s.aim.agreed)) == 0
	switch {
	case planned && (s.lacks(p, r.MM) > s.within() || down > 0):
		return s.nextRound(p, now)
	case s.lacks(p, r.MM) > s.within():
		return s.jackDue(p, s.move(p, r.MM))
	}
	if down > 0 {
		return due{words: fmt.Sprintf("Bring down %s, as agreed", s.units.Show(down)), kind: events.KindJacking}
	}
	return due{}
}

// nextMeanwhile: the packer is cut once, when nothing beside it moves any more.
func (s *State) nextMeanwhile(p *place, now time.Time) due {
	w := &p.work
	beside := s.stillBeside(p, now)
	switch {
	case beside == "" || (w.packing != nil && w.packing.Sort == events.Final && w.down):
		return due{}
	case w.jack != nil && w.packing == nil:
		return due{words: "Pack under it meanwhile: " + beside + " is still to be lifted", kind: events.KindPacking, sort: events.Temporary}
	}
	return due{words: "Wait: " + beside + " is still to be lifted"}
}

// nextFinish: what is left once the height is right.
func (s *State) nextFinish(p *place, _ time.Time) due {
	w := &p.work
	final := w.packing != nil && w.packing.Sort == events.Final
	untouched := s.untouched(p)
	switch {
	case untouched && len(w.blocks) == 0:
		return s.nextSigning(p)
	case !final && w.packing != nil && w.jack == nil:
		return s.freePacking(p)
	case !final && !untouched:
		return due{words: s.say("Measure the gap, cut the packer and pack"), kind: events.KindPacking, sort: events.Final}
	case final && !w.packing.FullWidth:
		return due{words: s.say("Drive the packer through to the full width"), kind: events.KindPacking, sort: events.Final}
	case w.jack != nil:
		return due{words: "Jack down", kind: events.KindJackDown}
	case !w.fixed && !untouched:
		return workDue("Fix it", events.Refixed)
	case len(w.blocks) > 0 && !(w.signed.stands() && w.signed.stays):
		return due{words: s.say("Take the blocking away, or say why it stays"), kind: events.KindBlockingRemoved}
	}
	return s.nextSigning(p)
}

// freePacking lifts a bearer off its temporary packing, to change it for the
// packer: by what letting it down onto that will lose, a millimetre at least.
func (s *State) freePacking(p *place) due {
	r, _ := s.remaining(p)
	return s.jackDue(p, math.Max(1, r.MM+s.bedsIn(p)))
}

// nextSigning: what is left once it stands as it is to stay.
func (s *State) nextSigning(p *place) due {
	if p.work.signed.stands() {
		return s.nextSigned(p)
	}
	if missing := s.missingReading(p); len(missing) > 0 {
		return readDue("Before signing: " + joinWords(missing))
	}
	return due{words: "Sign", kind: events.KindSigned}
}

func (s *State) nextSigned(p *place) due {
	if len(s.lists.openCauses(p.id)) > 0 {
		return due{words: "Level; cause open: may drop again", kind: events.KindFindingClosed}
	}
	return due{words: "Done"}
}

func readDue(words string) due { return due{words: words, kind: events.KindReading} }

func workDue(words string, step events.WorkStep) due {
	return due{words: words, kind: events.KindSupportWork, step: step}
}
