package rounds

import (
	"slices"
)

// collect turns the moves of a round into batches of as many jacks as there are.
func (p *planner) collect() Round {
	r := Round{Day: p.day}
	left := p.order
	for batch := 0; len(left) > 0; batch++ {
		var taken []pending
		taken, left = p.batch(left)
		for _, m := range taken {
			r.Moves = append(r.Moves, Move{m.support, float64(m.to-m.from) / perMM, float64(m.to) / perMM, batch})
		}
	}
	return r
}

// ahead is how many moves further on a batch looks for what can be pumped with it.
const ahead = 40

// batch takes the first move of those that are left, whole with its group, and
// whatever can be pumped with it: in any order no limit breaks, and nothing is
// moved before what it waits for. What is left over stays in order, in place.
func (p *planner) batch(left []pending) (taken, rest []pending) {
	n := 1
	for n < len(left) && left[n].unit == left[0].unit {
		n++
	}
	taken, rest = left[:n:n], left[n:]
	var waiting []pending
	for i := 0; i < min(ahead, len(rest)) && len(taken) < p.jacks; i++ {
		m := rest[i]
		if len(p.units[m.unit]) == 1 && p.together(m, taken) && !p.beside(m, waiting) {
			taken = append(taken, m)
			copy(rest[1:i+1], rest[:i])
			rest = rest[1:]
			i--
			continue
		}
		waiting = append(waiting, m)
	}
	return taken, rest
}

// together tells whether a move may come before others as well as after them.
func (p *planner) together(m pending, others []pending) bool {
	for _, o := range others {
		for _, e := range p.near[m.support] {
			if e.to == o.support && (abs(m.to-o.from) > max(e.most, abs(m.from-o.from)) || abs(m.from-o.to) > max(e.most, abs(m.from-o.from))) {
				return false
			}
		}
	}
	return true
}

// beside tells whether a support stands beside one of those that wait.
func (p *planner) beside(m pending, waiting []pending) bool {
	return slices.ContainsFunc(waiting, func(o pending) bool {
		return o.unit == m.unit || slices.ContainsFunc(p.near[m.support], func(e edge) bool { return e.to == o.support })
	})
}
