package rounds

import (
	"slices"
)

// left is how far a support still has to move, with its sign.
func (p *planner) left(i int) int64 {
	if p.blocked[i] {
		return 0
	}
	return p.lift[i] - p.at[i]
}

func (p *planner) finished() bool {
	for i := range p.lift {
		if p.left(i) != 0 {
			return false
		}
	}
	return true
}

// wish is how far a support would move now if it stood alone.
func (p *planner) wish(i int) int64 {
	most := p.step
	if p.daily > 0 {
		most = min(most, p.today[i])
	}
	left := p.left(i)
	return max(-most, min(most, left))
}

// free is how far a support may move of its wish, the others staying where they
// are. Members of its own unit bind it elsewhere.
func (p *planner) free(i int) int64 {
	by := p.wish(i)
	for _, e := range p.near[i] {
		if p.unitOf[e.to] == p.unitOf[i] {
			continue
		}
		by = bound(by, p.at[e.to]-p.at[i], e.most)
	}
	return by
}

// bound cuts a move so that it ends no further than most past a neighbour which
// stands off to one side.
func bound(by, off, most int64) int64 {
	if by > 0 {
		return max(0, min(by, off+most))
	}
	return min(0, max(by, off-most))
}

// reach is how far each member of a unit may move in one move of all of them,
// and whether all get their wish. The slice is good until the next call.
func (p *planner) reach(u int) (by []int64, all bool) {
	members := p.units[u]
	by = p.by[:len(members)]
	for k, i := range members {
		by[k] = p.free(i)
	}
	if slices.ContainsFunc(members, func(i int) bool { return p.blocked[i] }) {
		clear(by) // one that is blocked blocks its group
		return by, true
	}
	for tied := len(members) > 1; tied; {
		tied = false
		for k, i := range members {
			cut := by[k]
			for _, e := range p.near[i] {
				if o := slices.Index(members, e.to); o >= 0 {
					cut = bound(cut, p.at[e.to]+by[o]-p.at[i], e.most)
				}
			}
			if cut != by[k] {
				by[k], tied = cut, true
			}
		}
	}
	all = true
	for k, i := range members {
		all = all && by[k] == p.wish(i)
	}
	return by, all
}

func some(by []int64) bool {
	return slices.ContainsFunc(by, func(x int64) bool { return x != 0 })
}
