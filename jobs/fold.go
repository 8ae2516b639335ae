package jobs

import (
	"errors"
	"maps"
	"slices"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// FoldVersion changes whenever the same events would fold to another state, so
// that a cached state or a summary of an older program is known for what it is.
const FoldVersion = 12

// maxUnknowns bounds the heights that are kept with their covariances: three
// faces of three hundred supports. One reading then takes a third of a
// millisecond, and a job 4 MB.
const maxUnknowns = 1000

// State is a job as its events leave it. It is made by New, Fold and Refold,
// and read through Picture, Figures and Line. It is not safe for concurrent use.
type State struct {
	job     events.ID
	seq     int64
	clocks  clocks
	lastAt  time.Time
	offset  int            // of the site from UTC when its last event was recorded, seconds
	units   levelling.Unit // that phrases are written in
	words   Words          // and those of which region
	speaker *speaker       // that says them

	voids     map[events.ID]string   // what does not count, and why
	gone      map[int64]bool         // what was erased, by its number
	goneFiles map[events.FileOf]bool // and the files of records that stay
	aside     map[events.ID]SetAside
	waits     map[string]bool // what set-aside events wait for, so that its coming refolds
	flags     []flagged
	newer     int
	pending   map[events.ID]placed // while refolding: events that others may refer to before their turn

	floor   floor
	places  map[string]*place
	setups  map[events.ID]*setup
	recent  []*setup // in the order they were opened
	live    []*setup // those that stand now, as far as is known
	planes  []*setup // those whose plane is an unknown of the filter
	filter  levelling.Filter
	rises   map[coverings]risen   // worked out since the last event
	posts   []*place              // those of the supports, as supports lists them
	begun   *begun                // the round under way, worked out since the last event
	planned *planned              // all rounds, likewise
	round   int                   // counts the rounds that were begun
	losses  map[bedding][]float64 // what jack-downs lost, by their kind
	stiff   map[string]*stiffness // what the readings say of each bearer
	apart   []apartness           // height differences that wait for a height
	aim     *aim

	latest    events.Stored // the one that happened last
	diary     []Day         // what was done on each day, by the day
	comeBack  []string      // the dates agreed at the hand-over
	handed    time.Time     // when the job was handed over, the last time
	shifts    int           // how often anything moved that may have moved a spot
	shiftedAt time.Time     // the last time

	judging events.Face // the judged face while no aim says it; "" is to be worked out

	working     bool // something that can move the floor was begun: the survey is over
	block       map[string]*blocking
	checks      map[string][]instrumentCheck // of each instrument, by day
	proposals   []proposal                   // of stops
	checkedOn   time.Time                    // the last safety check
	uncheckedOn time.Time                    // the last day that was flagged for want of one
	below       *mark                        // people are below since
	off         []turnedOff                  // services, for the work
	under       space                        // what was said last of the space below
	outSince    *mark                        // everybody was said to be out, and nobody went below again
	adrift      map[string]hazard            // by place: dangerous, and in no reckoning
	seen        map[events.ID]Seen           // by device: how far it had the log
	resting     map[rests]int                // how many records rest on each event
	lists       lists
}

// New returns the state of a job without events.
func New(job events.ID) *State {
	return &State{
		job:    job,
		clocks: newClocks(),
		voids:  map[events.ID]string{},
		gone:   map[int64]bool{}, goneFiles: map[events.FileOf]bool{},
		aside:  map[events.ID]SetAside{},
		waits:  map[string]bool{},
		floor:  newFloor(),
		places: map[string]*place{},
		setups: map[events.ID]*setup{},
		filter: levelling.Filter{Limit: maxUnknowns},
		losses: map[bedding][]float64{},
		stiff:  map[string]*stiffness{},
		block:  map[string]*blocking{},
		checks: map[string][]instrumentCheck{},
		adrift: map[string]hazard{},
		seen:   map[events.ID]Seen{}, resting: map[rests]int{},
		lists: newLists(),
	}
}

// Job is the job it is the state of.
func (s *State) Job() events.ID { return s.job }

// Seq is the number of the last event, by receipt, that is in the state.
func (s *State) Seq() int64 { return s.seq }

// Fold continues a state with one more event and returns true, when the event
// comes after all others and changes the meaning of none of them. Otherwise it
// returns false and leaves the state alone: the whole log is to be refolded.
// That happens for events that arrive late, for voids, and for whatever an
// earlier event was waiting for.
func Fold(s *State, e events.Stored) bool {
	if e.Kind == events.KindVoid || e.Kind == events.KindErased || s.gone[e.Seq] && !e.Erased || !s.clocks.follows(e) || s.awaited(e) {
		return false
	}
	s.clocks.learn(e)
	s.take(placed{e, s.clocks.key(e)})
	return true
}

// Refold computes the state of a set of events from nothing, in whatever order
// they are given.
func Refold(job events.ID, all []events.Stored) *State {
	s := New(job)
	order := arrange(forget(all))
	s.foresee(order)
	s.expect(order, nil)
	for _, e := range order {
		s.take(e)
	}
	s.pending = nil
	return s
}

// take applies one event in its turn.
func (s *State) take(e placed) {
	s.seq = max(s.seq, e.Seq)
	s.rises, s.begun, s.planned = nil, nil, nil
	if e.key.at.After(s.lastAt) && e.Kind != events.KindErased {
		s.lastAt, s.latest = e.key.at, e.Stored
		if !e.Erased { // of that one only the line is left
			_, s.offset = e.At.Zone()
		}
	}
	s.flagClock(e)
	s.clocks.take(e.Stored, e.key)
	s.see(e)
	if _, void := s.voids[e.ID]; void {
		return
	}
	if s.pending != nil {
		if _, referred := s.pending[e.ID]; !referred && pulled(e.Kind) {
			return // an event that referred to it has applied it already
		}
		delete(s.pending, e.ID)
	}
	s.apply(e)
}

// pulled tells the kinds that others refer to by id, and which are applied
// early when a device whose clock runs behind referred to one.
func pulled(k events.Kind) bool {
	return k == events.KindSetup || k == events.KindStop || k == events.KindFinding || k == events.KindChange
}

// pull applies an event that another refers to, if its turn has not come yet.
func (s *State) pull(id events.ID) {
	e, waiting := s.pending[id]
	if !waiting {
		return
	}
	delete(s.pending, id)
	if _, void := s.voids[id]; !void {
		s.apply(e)
	}
}

func (s *State) apply(e placed) {
	if e.Erased {
		s.setAside(e, erased)
		return
	}
	body, err := events.Open(e.Kind, e.V, e.Body)
	if errors.Is(err, events.ErrNewer) {
		s.newer++
		return
	}
	if err != nil {
		s.setAside(e, err.Error())
		return
	}
	for _, name := range body.Points() {
		if !s.floor.known[name] {
			s.setAsideFor(e, name, name+" is not on any plan yet")
			s.watchAdrift(e, body)
			return
		}
	}
	if b, ok := body.(*events.Erased); ok {
		s.takeErased(e, b)
		return
	}
	s.watchUnaware(e, body)
	s.dispatch(e, body)
	s.refer(e, body)
	s.watchOrder(e, body)
	s.keepDiary(e, body)
}

func (s *State) dispatch(e placed, body events.Body) {
	switch b := body.(type) {
	case *events.Plan:
		s.takePlan(e, b)
	case *events.Found:
		s.takeFound(e, b)
	case *events.Aim:
		s.takeAim(e, b)
	case *events.Setup:
		s.openSetup(e, b)
		s.watchCheck(e)
	case *events.InstrumentCheck:
		s.takeCheck(e, b)
	case *events.SetupClosed:
		s.closeSetup(e, b)
	case *events.Reading:
		s.read(e, b)
	case *events.Difference:
		s.differ(e, b)
	case *events.Jacking:
		s.jackUp(e, b)
	case *events.Packing:
		s.pack(e, b)
	case *events.JackDown:
		s.jackDown(e, b)
	case *events.Blocking:
		s.putBlocking(e, b)
	case *events.BlockingRemoved:
		s.removeBlocking(e, b)
	case *events.SupportWork:
		s.workOn(e, b)
	case *events.Signed:
		s.sign(e, b)
	case *events.Void:
		s.takeVoid(e, b)
	default:
		s.list(e, body)
	}
}

func (s *State) takeVoid(e placed, v *events.Void) {
	if _, counts := s.voids[v.Event]; !counts {
		s.setAside(e, "this cannot be voided: record the thing again")
	}
}

const erased = "erased at somebody's request"

// setAside keeps an event out of the reckoning and says why.
func (s *State) setAside(e placed, reason string) {
	s.aside[e.ID] = SetAside{ID: e.ID, Seq: e.Seq, Kind: e.Kind, Reason: reason}
}

// setAsideFor sets an event aside until something it needs is there.
func (s *State) setAsideFor(e placed, need, reason string) {
	s.waits[need] = true
	s.setAside(e, reason)
}

func (s *State) flag(e placed, text string) {
	s.flags = append(s.flags, flagged{Flag: Flag{ID: e.ID, Seq: e.Seq, Text: text}})
}

// flagSaid flags what has words in it that regions say otherwise, with the names it is
// about.
func (s *State) flagSaid(e placed, sentence string, names ...any) {
	s.flags = append(s.flags, flagged{Flag: Flag{ID: e.ID, Seq: e.Seq}, sentence: sentence, names: names})
}

// flagReckoned flags what names lengths of the program's own, in mm.
func (s *State) flagReckoned(e placed, text string) {
	s.flags = append(s.flags, flagged{Flag: Flag{ID: e.ID, Seq: e.Seq, Text: text}, reckoned: true})
}

// flagged is a flag, and whether its lengths are reckoned; those that somebody typed
// stay as they were typed. The text of one with a sentence is written when it is shown.
type flagged struct {
	Flag
	reckoned bool
	sentence string
	names    []any
}

// flagViews are the flags in what is spoken.
func (s *State) flagViews() []Flag {
	var out []Flag
	for _, f := range s.flags {
		switch {
		case f.sentence != "":
			f.Text = s.say(f.sentence, f.names...)
		case f.reckoned:
			f.Text = s.units.Respell(f.Text)
		}
		out = append(out, f.Flag)
	}
	return out
}

// sortedAside lists what is set aside by number of receipt.
func (s *State) sortedAside() []SetAside {
	return slices.SortedFunc(maps.Values(s.aside), func(a, b SetAside) int { return int(a.Seq - b.Seq) })
}
