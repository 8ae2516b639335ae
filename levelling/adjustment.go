package levelling

import "math"

// minRedundancy is below what an observation counts as checked by nothing: the
// rounding errors of a network would be all that its W shows.
const minRedundancy = 1e-9

// tied is how near two values of |W| are when the figures cannot tell which of
// the two is larger; beyond 1 in proportion.
const tied = 1e-6

// adjustment puts together what the solved mesh says.
func (s *survey) adjustment(lifts []float64, v spreads) Adjustment {
	a := Adjustment{DegreesOfFreedom: len(s.sights) - (s.nodes - 1)}
	a.Observations = make([]AdjustedObservation, len(s.sights))
	ws := make([]float64, len(s.sights))
	var sum float64
	for i, o := range s.sights {
		from, to := s.marks[o.from].node, s.marks[o.to].node
		residual := (lifts[to] - lifts[from]) - s.left(o)
		checked := 1 - float64(s.weight(o)*v.between(from, to))
		a.Observations[i].ResidualMM = residual
		if checked >= minRedundancy {
			checked = math.Min(1, checked)
			ws[i] = residual / o.sd / math.Sqrt(checked)
			a.Observations[i].Redundancy, a.Observations[i].W = checked, &ws[i]
		}
		sum += float64((residual / o.sd) * (residual / o.sd))
	}
	if a.DegreesOfFreedom > 0 {
		s0 := math.Sqrt(sum / float64(a.DegreesOfFreedom))
		a.S0 = &s0
	}
	for _, m := range s.marks {
		sd := s.unit * math.Sqrt(v.between(m.node, ground))
		a.add(m, Height{s.height(m, lifts), sd})
	}
	return a
}

func (a *Adjustment) add(m mark, h Height) {
	adjusted := AdjustedHeight{Name: m.name, Height: h}
	if a.S0 != nil {
		fitted := h.SD * *a.S0
		adjusted.FittedSD = &fitted
	}
	if m.plane {
		a.Planes = append(a.Planes, adjusted)
	} else {
		a.Points = append(a.Points, adjusted)
	}
}

// suspect marks the observation whose |W| is past the critical value and larger
// than any other.
func (a *Adjustment) suspect(alpha float64) {
	if a.DegreesOfFreedom < 2 {
		return
	}
	worst, largest, second := -1, 0.0, 0.0
	for i, o := range a.Observations {
		if o.W == nil {
			continue
		}
		size := math.Abs(*o.W)
		if size > largest {
			worst, largest, second = i, size, largest
		} else {
			second = math.Max(second, size)
		}
	}
	if largest > CriticalTwoSided(alpha) && largest-second > tied*math.Max(1, largest) {
		a.Observations[worst].Suspect = true
	}
}

// finite reports whether every number of the adjustment is one.
func (a *Adjustment) finite() bool {
	for _, o := range a.Observations {
		if !finite(o.ResidualMM, o.Redundancy) || o.W != nil && !finite(*o.W) {
			return false
		}
	}
	for _, list := range [2][]AdjustedHeight{a.Points, a.Planes} {
		for _, h := range list {
			if !finite(h.MM, h.SD) || h.FittedSD != nil && !finite(*h.FittedSD) {
				return false
			}
		}
	}
	return a.S0 == nil || finite(*a.S0)
}
