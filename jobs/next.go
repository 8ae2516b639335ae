package jobs

import (
	"fmt"
	"math"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// missing lists what a support still needs before it can be signed.
func (s *State) missing(p *place, blockingStays bool) []string {
	var out []string
	need := func(is bool, words string) {
		if is {
			out = append(out, words)
		}
	}
	w := &p.work
	final := w.packing != nil && w.packing.Sort == events.Final
	// Where nothing is lifted nothing is packed or read, but nothing may be left either.
	lifted := !p.noneHere && !s.leftOut(p.id)
	packed := lifted && !s.untouched(p)
	need(w.out != nil, "the support set again")
	need(packed && !final, "the final packer")
	need(packed && final && !w.packing.FullWidth, "the packer on the full width")
	need(w.jack != nil, "the jack away")
	need(packed && !w.fixed, "fixed")
	need(len(w.blocks) > 0 && !blockingStays, "the blocking away, or why it stays")
	need(s.lists.stopped(p.id) != nil, "the go-ahead")
	if lifted {
		out = append(out, s.missingReading(p)...)
	}
	return out
}

// missingReading says what the last reading leaves to be wished.
func (s *State) missingReading(p *place) []string {
	f := p.freshest()
	switch {
	case f == nil:
		return []string{"a reading after the last move"}
	case f.odd != nil:
		return []string{"a second reading: the last one is in doubt"}
	case s.setupDoubt(f) != "":
		return []string{"a reading on a set-up that is not in doubt"}
	}
	if rest := s.restUntil(p); !rest.IsZero() && f.at.Before(rest) {
		return []string{fmt.Sprintf("a reading after its rest of %g h", s.aim.agreed.RestHours)}
	}
	r, _ := s.remaining(p)
	switch {
	case !s.aim.gives():
		return []string{"an aim that gives a height"}
	case !s.judged(p):
		return []string{s.tieFaces(p)}
	case r.MM > s.within():
		return []string{mmWords(r.MM) + " mm to go"}
	}
	return nil
}

// untouched tells that nothing was done to what stands under the bearer at a
// place, and that the bearer lies on it as it was found. It is read and signed
// like the others, and there is nothing to pack or to fix.
func (s *State) untouched(p *place) bool {
	return !p.work.begun && s.reached(p) && s.daylight(p) <= leastGapMM
}

// leastGapMM is less than the thinnest packing fills.
const leastGapMM = 1.0

// daylight is how far a bearer was lifted, by what was done beside it, off a
// support that nothing was done to: the gap to pack, mm.
func (s *State) daylight(p *place) float64 {
	if p.work.begun {
		return 0
	}
	risen, _ := s.risenBy(p)
	return math.Max(0, risen.MM)
}

// risenBy is how far a place has come up since as found, on the judged face.
func (s *State) risenBy(p *place) (Figure, bool) {
	face := s.judgedFace()
	was, before := p.on(face, s.thaw(p, p.asFound))
	present, now := p.on(face, p.heights())
	if !before || !now {
		return Figure{}, false
	}
	return Figure{present.MM - was.MM, present.SD}, true
}

// freshest is the face read last, if it was read since anything in reach moved.
func (p *place) freshest() *face {
	f := p.faces[p.lastly]
	if f == nil || f.moves != p.moves || (f.basis != WasRead && f.odd == nil) {
		return nil
	}
	return f
}

// restUntil is when a reading counts for a signature: the agreed rest after
// the last move in reach. Zero where no rest was agreed.
func (s *State) restUntil(p *place) time.Time {
	if s.aim == nil || s.aim.agreed.RestHours <= 0 || p.work.lastMove.IsZero() {
		return time.Time{}
	}
	return p.work.lastMove.Add(time.Duration(s.aim.agreed.RestHours * float64(time.Hour)))
}

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
		return due{words: "It is out and no blocking is recorded: block it now", kind: events.KindBlocking}
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
		return readDue("Read it again: " + f.doubt)
	case s.setupDoubt(f) != "":
		return readDue("Read it again: " + s.setupDoubt(f))
	case p.freshest() == nil && p.work.jack != nil && p.work.packing == nil:
		return readDue("Read it, or pack under it first")
	case p.freshest() == nil && s.surelyLow(p):
		return due{}
	case p.freshest() == nil && p.work.moved != "" && f.basis == WasRead:
		return readDue("Read it: " + p.work.moved + " moved")
	case p.freshest() == nil:
		return readDue("Read it: it moved since")
	}
	if !s.judged(p) {
		return readDue("Read " + s.tieFaces(p))
	}
	return due{}
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
	return fmt.Sprintf("%s and %s between the same moves, to tie them", s.judgedFace(), p.lastly)
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
		return due{words: fmt.Sprintf("Bring down %s, as agreed", mmWords(down)), kind: events.KindJacking}
	}
	return due{}
}

// toLower is how far a place may still be brought down: what it is above its
// target, but together with what it came down already no more than was agreed.
func (s *State) toLower(p *place, remaining float64) float64 {
	agreed := s.aim.mayLower(p.id)
	remaining += s.overLift(p) // on a jack it stands higher on purpose
	if remaining >= -s.within() || agreed <= 0 {
		return 0
	}
	risen, _ := s.risenBy(p)
	agreed += risen.MM
	down := math.Min(-remaining, agreed)
	if mmWords(down) == "0" {
		return 0 // nothing that a jack could do
	}
	return math.Max(0, down)
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
		return due{words: "Measure the gap, cut the packer and pack", kind: events.KindPacking, sort: events.Final}
	case final && !w.packing.FullWidth:
		return due{words: "Drive the packer through to the full width", kind: events.KindPacking, sort: events.Final}
	case w.jack != nil:
		return due{words: "Jack down", kind: events.KindJackDown}
	case !w.fixed && !untouched:
		return workDue("Fix it", events.Refixed)
	case len(w.blocks) > 0 && !(w.signed.stands() && w.signed.stays):
		return due{words: "Take the blocking away, or say why it stays", kind: events.KindBlockingRemoved}
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

// move is how far one move goes: what is left and what letting the jack down
// will lose, or the agreed step.
func (s *State) move(p *place, left float64) float64 {
	left += s.bedsIn(p)
	if step := s.aim.agreed.StepMM; step > 0 && left > step {
		return step
	}
	return left
}

// lacks is what a support has to go once it will be let down: what remains now,
// and where it stands on a jack or on what is to come out again, what that will
// lose.
func (s *State) lacks(p *place, remaining float64) float64 {
	if w := &p.work; w.jack != nil || (w.packing != nil && !w.down) {
		return remaining + s.bedsIn(p)
	}
	return remaining
}

// bedsIn is what the jack-down that is still to come at a place will lose.
func (s *State) bedsIn(p *place) float64 {
	lost, _ := s.expectedLoss(s.toCome(p))
	return math.Max(0, lost.MM-float64(keptBack*lost.SD))
}

// keptBack is the part of its ± by which an over-lift stays below the loss that is
// expected: a packer too thick has to be cut again, one a little thin is within
// what was agreed. In a simulated house half of it costs no round and halves the
// overshoot.
const keptBack = 0.5

// overLift is how much higher than its target a place may stand on its jack.
func (s *State) overLift(p *place) float64 {
	if p.work.jack == nil {
		return 0
	}
	return s.bedsIn(p)
}

// toGo says the remaining lift in words.
func (s *State) toGo(p *place) string {
	r, known := s.remaining(p)
	if !known {
		return ""
	}
	whole := mmWords(math.Abs(r.MM))
	switch {
	case whole == "0":
		return "level"
	case r.MM > s.within():
		return whole + " to go"
	case r.MM > 0:
		return whole + " to go, within what was agreed"
	case -r.MM <= s.within()+s.overLift(p) && s.overLift(p) > 0:
		return whole + " over, for bedding-in"
	case -r.MM <= s.within():
		return whole + " above, within what was agreed"
	case s.toLower(p, r.MM) > 0:
		return fmt.Sprintf("bring down %s (agreed)", mmWords(s.toLower(p, r.MM)))
	}
	return whole + " above: leave"
}
