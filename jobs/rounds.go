package jobs

import (
	"fmt"
	"math"
	"slices"
	"time"

	"relevel/events"
	"relevel/levelling"
	"relevel/levelling/rounds"
)

// Rounds is how the rest of the lift is to be gone about, made anew after every
// event. There is no published safe rate of lifting: step and limit are the
// firm's own, and without them nothing is planned.
type Rounds struct {
	Ask   []string    `json:"ask,omitempty"`   // what the firm has to set before anything can be planned
	Left  int         `json:"left"`            // rounds, the one under way counted
	Moves []NextMove  `json:"moves,omitempty"` // of the round under way, in order
	Later []LaterOn   `json:"later,omitempty"` // of the others
	Waits []WaitingOn `json:"waits,omitempty"` // what cannot be lifted yet, and why
}

// NextMove is a single move of a round. Those of one batch are pumped together.
type NextMove struct {
	Support string  `json:"support"`
	ByMM    float64 `json:"by_mm"`
	SoFarMM float64 `json:"so_far_mm"`         // since as found, after the move
	OverMM  float64 `json:"over_mm,omitempty"` // of it for bedding-in: the last move
	Batch   int     `json:"batch"`
	Today   bool    `json:"today"`                 // false: the daily lift is used up
	Stop    *StopAt `json:"stop_figure,omitempty"` // nil without a live set-up
	First   string  `json:"read_first,omitempty"`  // what has to be done before it
}

// LaterOn is a round after the one under way.
type LaterOn struct {
	Day   int        `json:"day"` // 0 is today
	Moves []NextMove `json:"moves"`
}

// WaitingOn is a support that is not lifted yet.
type WaitingOn struct {
	Support string  `json:"support"`
	LeftMM  float64 `json:"left_mm"`
	Why     string  `json:"why"` // "B2-4: waste pipe still fixed"
}

// planned is a plan of rounds as the state uses it.
type planned struct {
	day   string
	ask   []string
	ids   []string
	plan  rounds.Plan
	first map[string]rounds.Move // of the round under way
	left  map[string]bool        // with a move to come, in any round
	waits map[string]string
}

// rounds plans the rest of the lift as of a day.
func (s *State) rounds(now time.Time) *planned {
	day := now.Format(time.DateOnly)
	if s.planned == nil || s.planned.day != day {
		s.planned = s.planRounds(now)
		s.planned.day = day
	}
	return s.planned
}

func (s *State) planRounds(now time.Time) *planned {
	p := &planned{first: map[string]rounds.Move{}, left: map[string]bool{}, waits: map[string]string{}}
	if !s.aim.gives() {
		p.ask = []string{"an aim that gives a height"}
		return p
	}
	if p.ask = roundLimits(s.aim.agreed); len(p.ask) > 0 {
		return p
	}
	f, ids, why := s.roundsFloor(now)
	plan, err := f.Plan()
	if err != nil {
		p.ask = []string{err.Error()}
		return p
	}
	p.plan, p.ids = plan, ids
	p.index(why)
	return p
}

// roundLimits says which of the firm's limits are still to be set.
func roundLimits(a events.Aim) []string {
	return slices.Concat(only(a.StepMM <= 0, "the most that one move may be"),
		only(a.NeighbourMM <= 0 && a.Ratio <= 0, "how far neighbours may differ in what they have moved"))
}

// index looks up by support what the plan says of it.
func (p *planned) index(why []string) {
	for k, r := range p.plan.Rounds {
		for _, m := range r.Moves {
			p.left[p.ids[m.Support]] = true
			if k == 0 && r.Day == 0 {
				p.first[p.ids[m.Support]] = m
			}
		}
	}
	for _, w := range p.plan.Waits {
		id, on := p.ids[w.Support], p.ids[w.On]
		if p.waits[id] = why[w.On]; on != id {
			p.waits[id] = on + ": " + why[w.On]
		}
	}
}

// roundsFloor puts the state as the planner takes it. why says of each support
// what blocks it.
func (s *State) roundsFloor(now time.Time) (f rounds.Floor, ids, why []string) {
	a := s.aim.agreed
	f = rounds.Floor{Step: a.StepMM, Daily: a.DailyMM, Jacks: a.Jacks}
	index := map[string]int{}
	for _, at := range s.floor.plan.Supports {
		p := s.place(at.ID)
		if p.noneHere {
			continue
		}
		index[at.ID] = len(ids)
		ids = append(ids, at.ID)
		blocked := s.notToMove(p, now)
		why = append(why, blocked)
		f.Supports = append(f.Supports, s.toPlan(p, blocked != "", now))
	}
	s.pairUp(&f, index)
	return f, ids, why
}

// toPlan is one support as the planner takes it.
func (s *State) toPlan(p *place, blocked bool, now time.Time) rounds.Support {
	risen, _ := s.risenBy(p)
	v := rounds.Support{Lift: risen.MM, Done: risen.MM, Blocked: blocked, Moved: p.work.round > 0 && p.work.round == s.round}
	if sameDay(p.work.liftedOn, now) {
		v.Today = p.work.today
	}
	r, known := s.remaining(p)
	switch {
	case !known:
	case s.lacks(p, r.MM) > s.within():
		v.Lift += r.MM + s.bedsIn(p)
	case s.toLower(p, r.MM) > 0:
		v.Lift -= s.toLower(p, r.MM)
	}
	return v
}

// pairUp binds neighbours along the bearers and across them, and groups the two
// ends of a butted join.
func (s *State) pairUp(f *rounds.Floor, index map[string]int) {
	a := s.aim.agreed
	bind := func(one, other string) {
		i, known := index[one]
		j, also := index[other]
		if !known || !also {
			return
		}
		limit := a.NeighbourMM
		if a.Ratio > 0 {
			from, to := s.place(one), s.place(other)
			limit = math.Max(limit, rounds.Limit(levelling.Distance(from.x, from.y, to.x, to.y), a.Ratio))
		}
		f.Pairs = append(f.Pairs, rounds.Pair{A: i, B: j, Limit: limit})
	}
	for _, at := range s.floor.plan.Supports {
		for _, other := range s.floor.neighbours[at.ID] {
			if at.ID < other {
				bind(at.ID, other)
			}
		}
		if other := s.floor.shares[at.ID]; at.ID < other {
			i, known := index[at.ID]
			if j, also := index[other]; known && also {
				f.Supports[i].Group, f.Supports[j].Group = i+1, i+1
			}
		}
	}
	for _, pair := range s.floor.pairs {
		bind(pair[0], pair[1])
	}
}

// view is the plan as pages show it.
func (s *State) roundsView(now time.Time) *Rounds {
	if s.aim == nil {
		return nil
	}
	p := s.rounds(now)
	v := &Rounds{Ask: p.ask, Left: len(p.plan.Rounds)}
	for k, r := range p.plan.Rounds {
		var moves []NextMove
		for _, m := range r.Moves {
			moves = append(moves, s.nextMoveView(p.ids[m.Support], m, r.Day == 0, now, k == 0))
		}
		if k == 0 {
			v.Moves = moves
			continue
		}
		v.Later = append(v.Later, LaterOn{Day: r.Day, Moves: moves})
	}
	for _, id := range p.ids {
		if why, waits := p.waits[id]; waits {
			r, _ := s.remaining(s.place(id))
			v.Waits = append(v.Waits, WaitingOn{Support: id, LeftMM: r.MM, Why: why})
		}
	}
	return v
}

func (s *State) nextMoveView(id string, m rounds.Move, today bool, now time.Time, first bool) NextMove {
	p := s.place(id)
	v := NextMove{Support: id, ByMM: m.By, SoFarMM: m.SoFar, Batch: m.Batch, Today: today}
	if !first {
		return v
	}
	if r, known := s.remaining(p); known {
		v.OverMM = math.Max(0, m.By-r.MM)
	}
	v.Stop = s.stopAfter(p, m.By)
	if d := s.nextReading(p, now); d.words != "" {
		v.First = d.words
	}
	return v
}

// nextRound says what to do at a support that has lift to go: its move of the
// round under way, or to leave it while others come first.
func (s *State) nextRound(p *place, now time.Time) due {
	plan := s.rounds(now)
	if m, first := plan.first[p.id]; first {
		return s.jackDue(p, m.By)
	}
	if p.work.jack != nil && p.work.packing == nil {
		return due{words: "Pack under it meanwhile: others come first", kind: events.KindPacking, sort: events.Temporary}
	}
	if why := plan.waits[p.id]; why != "" {
		return due{words: "Wait: " + why}
	}
	if len(plan.plan.Rounds) > 0 && plan.plan.Rounds[0].Day > 0 {
		return due{words: "Wait for another day: the lift agreed for one is done"}
	}
	return due{words: "Wait: " + plan.comesFirst() + " first"}
}

// comesFirst names whose move is next.
func (p *planned) comesFirst() string {
	if len(p.plan.Rounds) == 0 {
		return "others"
	}
	return p.ids[p.plan.Rounds[0].Moves[0].Support]
}

// stillBeside names a support whose moves to come can move this one: the packer
// is cut once, when they are done.
func (s *State) stillBeside(p *place, now time.Time) string {
	if s.aim == nil || len(roundLimits(s.aim.agreed)) > 0 {
		return ""
	}
	plan := s.rounds(now)
	beside := slices.Concat(s.floor.neighbours[p.id], s.floor.beside[p.id])
	for _, g := range s.floor.girders {
		if slices.Contains(g.supports, p.id) {
			beside = append(beside, g.supports...)
		}
	}
	for _, id := range beside {
		if id != p.id && plan.left[id] {
			return id
		}
	}
	return ""
}

// jackDue is a move in words, with what the staff must read after it.
func (s *State) jackDue(p *place, by float64) due {
	verb := "Jack up"
	if by < 0 {
		verb = "Let down"
	}
	words := fmt.Sprintf("%s %s", verb, s.units.Show(math.Abs(by)))
	if stop := s.stopAfter(p, by); stop != nil {
		words += fmt.Sprintf(", stop at %s", s.units.Show(stop.StaffMM))
	}
	return due{words: words, kind: events.KindJacking, by: by}
}
