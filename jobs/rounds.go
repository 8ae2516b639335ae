package jobs

import (
	"fmt"
	"math"
	"slices"
	"time"

	"relevel/events"
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

// begun is the round under way as the state uses it. Most records ask for nothing
// else, and it is a fraction of the whole plan.
type begun struct {
	day   string
	ask   []string
	ids   []string
	round rounds.Round
	first map[string]rounds.Move // that can be made today
}

// planned is the whole plan.
type planned struct {
	begun
	plan  rounds.Plan
	left  map[string]bool // with a move to come, in any round
	waits map[string]string
}

// firstRound plans the round under way as of a day. Its moves are those of the whole
// plan.
func (s *State) firstRound(now time.Time) *begun {
	day := now.Format(time.DateOnly)
	if s.begun == nil || s.begun.day != day {
		s.begun = s.beginRounds(now)
		s.begun.day = day
	}
	return s.begun
}

func (s *State) beginRounds(now time.Time) *begun {
	b := &begun{ask: s.roundsAsk()}
	if len(b.ask) > 0 {
		return b
	}
	f, ids, _ := s.roundsFloor(now)
	round, err := f.First()
	if err != nil {
		b.ask = []string{err.Error()}
		return b
	}
	b.index(round, ids)
	return b
}

func (b *begun) index(round rounds.Round, ids []string) {
	b.round, b.ids, b.first = round, ids, make(map[string]rounds.Move, len(round.Moves))
	if round.Day > 0 {
		return
	}
	for _, m := range round.Moves {
		b.first[ids[m.Support]] = m
	}
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
	p := &planned{begun: begun{ask: s.roundsAsk()}}
	if len(p.ask) > 0 {
		return p
	}
	f, ids, why := s.roundsFloor(now)
	plan, err := f.Plan()
	if err != nil {
		p.ask = []string{err.Error()}
		return p
	}
	p.index(plan, ids, why)
	return p
}

// roundsAsk says what is missing before anything can be planned.
func (s *State) roundsAsk() []string {
	if !s.aim.gives() {
		return []string{"an aim that gives a height"}
	}
	return roundLimits(s.aim.agreed)
}

// roundLimits says which of the firm's limits are still to be set.
func roundLimits(a events.Aim) []string {
	return slices.Concat(only(a.StepMM <= 0, "the most that one move may be"),
		only(a.NeighbourMM <= 0 && a.Ratio <= 0, "how far neighbours may differ in what they have moved"))
}

// index looks up by support what the plan says of it.
func (p *planned) index(plan rounds.Plan, ids, why []string) {
	p.plan, p.left, p.waits = plan, map[string]bool{}, map[string]string{}
	var first rounds.Round
	if len(plan.Rounds) > 0 {
		first = plan.Rounds[0]
	}
	p.begun.index(first, ids)
	for _, r := range plan.Rounds {
		for _, m := range r.Moves {
			p.left[ids[m.Support]] = true
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
	n := len(s.floor.plan.Supports)
	f = rounds.Floor{Step: a.StepMM, Daily: a.DailyMM, Jacks: a.Jacks, Supports: make([]rounds.Support, 0, n)}
	index := make([]int, n) // -1 where none is
	ids, why = make([]string, 0, n), make([]string, 0, n)
	for i, p := range s.supports() {
		if p.noneHere {
			index[i] = -1
			continue
		}
		index[i] = len(ids)
		ids = append(ids, p.id)
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
// ends of a butted join. index is where the supports of the plan are in f.
func (s *State) pairUp(f *rounds.Floor, index []int) {
	a := s.aim.agreed
	f.Pairs = make([]rounds.Pair, 0, len(s.floor.bonds))
	for _, b := range s.floor.bonds {
		i, j := index[b.a], index[b.b]
		if i < 0 || j < 0 {
			continue
		}
		if b.butted {
			f.Supports[i].Group, f.Supports[j].Group = i+1, i+1
			continue
		}
		limit := a.NeighbourMM
		if a.Ratio > 0 {
			limit = math.Max(limit, rounds.Limit(b.apartM, a.Ratio))
		}
		f.Pairs = append(f.Pairs, rounds.Pair{A: i, B: j, Limit: limit})
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
	begun := s.firstRound(now)
	if m, first := begun.first[p.id]; first {
		return s.jackDue(p, m.By)
	}
	if p.work.jack != nil && p.work.packing == nil {
		return due{words: "Pack under it meanwhile: others come first", kind: events.KindPacking, sort: events.Temporary}
	}
	if why := s.rounds(now).waits[p.id]; why != "" {
		return due{words: "Wait: " + why}
	}
	if begun.round.Day > 0 {
		return due{words: "Wait for another day: the lift agreed for one is done"}
	}
	return due{words: "Wait: " + begun.comesFirst() + " first"}
}

// comesFirst names whose move is next.
func (b *begun) comesFirst() string {
	if len(b.round.Moves) == 0 {
		return "others"
	}
	return b.ids[b.round.Moves[0].Support]
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
