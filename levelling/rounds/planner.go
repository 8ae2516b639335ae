package rounds

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"relevel/levelling"
)

// planner is a plan half made. All lengths are thousandths of a mm.
type planner struct {
	units   []unit
	unitOf  []int
	lift    []int64
	at      []int64
	today   []int64 // still free today, of each support
	blocked []bool
	near    [][]edge
	step    int64
	daily   int64
	jacks   int

	day   int
	by    []int64 // reach's
	ways  []way   // of each unit, as long as nobody beside it moves
	moved []bool  // by unit, in this round
	order []pending
}

// unit is what moves as one: a support, or a group of them.
type unit []int

// edge leads to a neighbour.
type edge struct {
	to   int
	most int64 // by which the two may differ
}

// pending is a move of the round that is being made.
type pending struct {
	support int
	from    int64
	to      int64
	unit    int
}

func thousandths(mm float64) int64 { return int64(math.Round(float64(mm * perMM))) }

// whole is as many whole thousandths as a limit holds. What lies above it by
// rounding alone counts.
func whole(mm float64) int64 { return int64(math.Floor(float64(math.Min(mm, maxLift)*perMM) + 1e-6)) }

func (f Floor) planner() *planner {
	n := len(f.Supports)
	p := &planner{
		unitOf: make([]int, n), lift: make([]int64, n), at: make([]int64, n), today: make([]int64, n),
		blocked: make([]bool, n), near: make([][]edge, n), step: whole(f.Step), daily: whole(f.Daily), jacks: f.Jacks,
	}
	groups := map[int]int{}
	for i, s := range f.Supports {
		p.lift[i], p.at[i], p.blocked[i] = thousandths(s.Lift), thousandths(s.Done), s.Blocked
		p.today[i] = max(0, p.daily-int64(math.Abs(float64(thousandths(s.Today)))))
		u, known := groups[s.Group]
		if s.Group == 0 || !known {
			u = len(p.units)
			p.units = append(p.units, nil)
			groups[s.Group] = u
		}
		p.units[u], p.unitOf[i] = append(p.units[u], i), u
	}
	p.moved, p.by, p.ways = make([]bool, len(p.units)), make([]int64, n), make([]way, len(p.units))
	for i, s := range f.Supports {
		p.moved[p.unitOf[i]] = p.moved[p.unitOf[i]] || s.Moved
	}
	p.makeNear(f.Pairs)
	for _, n := range f.Pairs {
		most := max(whole(n.Limit), abs(p.lift[n.A]-p.lift[n.B]))
		p.near[n.A] = append(p.near[n.A], edge{n.B, most})
		p.near[n.B] = append(p.near[n.B], edge{n.A, most})
	}
	return p
}

// makeNear makes room for the neighbours of each support, all in one piece.
func (p *planner) makeNear(pairs []Pair) {
	count := make([]int, len(p.near))
	for _, n := range pairs {
		count[n.A]++
		count[n.B]++
	}
	room := make([]edge, 2*len(pairs))
	for i, n := range count {
		p.near[i], room = room[:0:n], room[n:]
	}
}

func abs(x int64) int64 { return max(x, -x) }

// round makes one pass over the supports.
func (p *planner) round() Round {
	p.order = p.order[:0]
	clear(p.ways)
	queue := make([]int, len(p.units))
	for u := range queue {
		queue[u] = u
	}
	for {
		p.wholeSteps(queue)
		u := p.giveWay()
		if u < 0 {
			break
		}
		queue = p.move(u)
	}
	r := p.collect()
	if len(r.Moves) > 0 {
		clear(p.moved)
	}
	return r
}

// next makes the next round that moves anybody, if need be on another day. One
// without moves is the end.
func (p *planner) next() Round {
	for !p.finished() {
		if r := p.round(); len(r.Moves) > 0 {
			return r
		}
		if !p.nextRound() && !p.tomorrow() {
			break
		}
	}
	return Round{}
}

// nextRound ends a round in which some were moved already and the others cannot be.
func (p *planner) nextRound() bool {
	under := slices.Contains(p.moved, true)
	clear(p.moved)
	return under
}

// wholeSteps moves whoever gets its wish, and then its neighbours, as long as
// anybody does.
func (p *planner) wholeSteps(queue []int) {
	for len(queue) > 0 {
		u := queue[0]
		queue = queue[1:]
		if p.moved[u] {
			continue
		}
		if by, all := p.reach(u); all && some(by) {
			queue = append(queue, p.move(u)...)
		}
	}
}

// move moves a unit as far as it may and returns those beside it, for which that
// changes something.
func (p *planner) move(u int) (beside []int) {
	by, _ := p.reach(u)
	p.moved[u] = true
	for k, i := range p.units[u] {
		if by[k] == 0 {
			continue
		}
		p.order = append(p.order, pending{i, p.at[i], p.at[i] + by[k], u})
		p.at[i] += by[k]
		p.today[i] -= abs(by[k])
		for _, e := range p.near[i] {
			p.ways[p.unitOf[e.to]].known = false
			if !p.moved[p.unitOf[e.to]] {
				beside = append(beside, p.unitOf[e.to])
			}
		}
	}
	return beside
}

// way is what is known of a unit that cannot make a whole step.
type way struct {
	known bool
	unit  int
	loses bool  // a round
	needs int64 // rounds to its lift, at the least
	opens int   // neighbours that have not moved in this round
	by    int64
}

// giveWay chooses who moves by less than a step, -1 where nobody can move.
func (p *planner) giveWay() int {
	best := way{unit: -1}
	for u := range p.units {
		if p.moved[u] {
			continue
		}
		if !p.ways[u].known {
			by, _ := p.reach(u)
			p.ways[u] = p.way(u, by)
		}
		if w := p.ways[u]; w.by > 0 && (best.unit < 0 || w.before(best)) {
			best = w
		}
	}
	return best.unit
}

func (p *planner) way(u int, by []int64) way {
	w := way{unit: u, known: true}
	for k, i := range p.units[u] {
		left := abs(p.left(i))
		needs, after := p.rounds(left), p.rounds(left-abs(by[k]))
		w.needs = max(w.needs, needs)
		w.loses = w.loses || (needs > 0 && after == needs)
		w.by = max(w.by, abs(by[k]))
		for _, e := range p.near[i] {
			if o := p.unitOf[e.to]; o != u && !p.moved[o] && p.left(e.to) != 0 {
				w.opens++
			}
		}
	}
	return w
}

func (p *planner) rounds(left int64) int64 { return (left + p.step - 1) / p.step }

// before puts first who loses nothing, then who has rounds to spare, then who
// makes way for most.
func (w way) before(o way) bool {
	if w.loses != o.loses {
		return o.loses
	}
	return cmp.Or(cmp.Compare(w.needs, o.needs), -cmp.Compare(w.opens, o.opens), -cmp.Compare(w.by, o.by)) < 0
}

// tomorrow begins another day where that lets anybody move on.
func (p *planner) tomorrow() bool {
	if p.daily == 0 {
		return false
	}
	waiting := false
	for i := range p.today {
		waiting = waiting || (p.left(i) != 0 && p.today[i] < min(p.daily, p.step))
		p.today[i] = p.daily
	}
	p.day++
	return waiting
}

// waits says who cannot get to its lift and what it waits for. Where nothing is
// blocked, the limits themselves leave no way.
func (p *planner) waits() ([]Wait, error) {
	var out []Wait
	for i := range p.lift {
		if lack := p.lift[i] - p.at[i]; lack != 0 {
			on := p.cause(i)
			if on < 0 {
				return nil, levelling.Bad("limit", fmt.Sprintf("more than nothing: supports[%d] and a neighbour cannot move one after the other", i))
			}
			out = append(out, Wait{i, on, float64(lack) / perMM})
		}
	}
	return out, nil
}

// cause follows what binds a support to one that is blocked, -1 where there is none.
func (p *planner) cause(i int) int {
	seen := map[int]bool{}
	next := []int{i}
	for len(next) > 0 {
		i, next = next[0], next[1:]
		if seen[i] {
			continue
		}
		seen[i] = true
		for _, j := range p.units[p.unitOf[i]] {
			if p.blocked[j] {
				return j
			}
			for _, e := range p.near[j] {
				if left := p.left(j); left != 0 && bound(left, p.at[e.to]-p.at[j], e.most) == 0 {
					next = append(next, e.to)
				}
			}
		}
	}
	return -1
}
