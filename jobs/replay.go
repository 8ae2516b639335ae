package jobs

import (
	"slices"

	"relevel/events"
)

// snapshotEvery is how many events lie between two snapshots of a replay. A
// late event then costs at most so many events more than those it comes before.
const snapshotEvery = 500

// Replay keeps the state of a set of events that come in any order, as they do
// on a phone that hears of others' work: it holds the events, and snapshots of
// the state between them, so that a late one does not refold the whole job.
// After every Add the state is that of Refold of all events so far. It is not
// safe for concurrent use.
type Replay struct {
	every int
	all   []events.Stored
	order []placed   // as they are folded
	shots []snapshot // by position
	state *State
}

// snapshot is the state after the first so many events of the order.
type snapshot struct {
	after   int
	state   *State
	applied map[events.ID]sortKey // of the events after those, the ones that are in the state all the same
}

// holds tells whether a change from a position on leaves the snapshot as it is,
// in the order as it is then.
func (t snapshot) holds(from int, order []placed) bool {
	if t.after > from {
		return false
	}
	same := 0
	for _, e := range order[t.after:] {
		if k, applied := t.applied[e.ID]; applied && k == e.key {
			same++
		}
	}
	return same == len(t.applied)
}

// NewReplay returns the replay of a job without events.
func NewReplay(job events.ID) *Replay {
	return &Replay{every: snapshotEvery, state: New(job)}
}

// State is the state of all events so far, until the next Add.
func (r *Replay) State() *State { return r.state }

// Clone returns a replay that goes its own way from here, as a phone's own
// events do while their numbers are still to come.
func (r *Replay) Clone() *Replay {
	c := *r
	c.all, c.order, c.shots = slices.Clone(r.all), slices.Clone(r.order), slices.Clone(r.shots)
	c.state = r.state.clone()
	return &c
}

// Add takes in one event.
func (r *Replay) Add(e events.Stored) {
	late := r.lateFrom(e)
	r.all = append(r.all, e)
	if late < 0 {
		r.order = append(r.order, placed{e, r.state.clocks.last})
		r.keep(len(r.order), r.state)
		return
	}
	r.all = forget(r.all)
	order := arrange(r.all)
	for i := range min(late, len(r.order)) {
		if order[i].key != r.order[i].key {
			late = i
			break
		}
	}
	r.order = order
	r.resume(late)
}

// lateFrom is the first position whose state an event may change, or −1 when
// the state continued with it.
func (r *Replay) lateFrom(e events.Stored) int {
	everywhere := r.state.awaited(e) || r.state.clocks.relearns(e)
	switch {
	case Fold(r.state, e):
		return -1
	case everywhere:
		return 0
	}
	switch e.Kind {
	case events.KindPlan, events.KindFound, events.KindInstrumentCheck, events.KindSetup, events.KindStop, events.KindFinding, events.KindChange:
		return 0 // what is folded before it may speak of it
	case events.KindErased:
		return 0
	case events.KindVoid:
		return r.voidedAt(e)
	}
	return len(r.order)
}

// voidedAt is the position of what a void speaks of, or of an earlier void that
// speaks of this one, which no longer counts then. What is not there yet comes
// later, and is void when it does.
func (r *Replay) voidedAt(e events.Stored) int {
	target, _ := voids(e)
	first := len(r.order)
	for i, o := range r.order {
		if of, isVoid := voids(o.Stored); isVoid && of == e.ID {
			first = min(first, i)
		}
		if o.ID != target {
			continue
		}
		// Both may hold, and what is spoken of everywhere may come after the void.
		if o.Kind == events.KindPlan || o.Kind == events.KindFound || o.Kind == events.KindInstrumentCheck || pulled(o.Kind) {
			return 0
		}
		first = min(first, i)
	}
	return first
}

// voids tells which event a void speaks of.
func voids(e events.Stored) (of events.ID, isVoid bool) {
	if e.Kind != events.KindVoid || e.Erased {
		return events.ID{}, false
	}
	body, err := events.Open(e.Kind, e.V, e.Body)
	if err != nil {
		return events.ID{}, false
	}
	return body.(*events.Void).Event, true
}

// keep takes a snapshot where one is due.
func (r *Replay) keep(after int, s *State) {
	if after%r.every != 0 {
		return
	}
	shot := snapshot{after: after, state: s.clone(), applied: map[events.ID]sortKey{}}
	for _, e := range r.order[after:] {
		_, waiting := s.pending[e.ID]
		if e.Kind == events.KindInstrumentCheck || (pulled(e.Kind) && !waiting) {
			shot.applied[e.ID] = e.key
		}
	}
	shot.state.pending = nil
	r.shots = append(r.shots, shot)
}

// resume folds again from the last snapshot that a change at a position leaves
// alone.
func (r *Replay) resume(from int) {
	for len(r.shots) > 0 && !r.shots[len(r.shots)-1].holds(from, r.order) {
		r.shots = r.shots[:len(r.shots)-1]
	}
	shot := snapshot{state: New(r.state.job)}
	if n := len(r.shots); n > 0 {
		shot = r.shots[n-1]
	}
	begin, rest := shot.after, r.order[shot.after:]
	r.state = shot.state.clone()
	r.state.foresee(r.order)
	r.state.expect(rest, shot.applied)
	for i, e := range rest {
		r.state.take(e)
		r.keep(begin+i+1, r.state)
	}
	r.state.pending = nil
}
