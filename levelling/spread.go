package levelling

// spreads holds, for every tie of an eliminated mesh, the variance of the
// difference in height between its ends, in units of weight 1.
type spreads struct {
	mesh *mesh
	of   [][]float64 // by node, beside its ties
}

// spreads finds the variances that the factors themselves name and no others
// (Takahashi, Fagan & Chin 1973), from the last node to the first. They are
// those of differences and not covariances, from which a difference would come
// out as a small number between large ones.
func (m *mesh) spreads() spreads {
	count := make([]int, len(m.ties))
	for node, ties := range m.ties {
		count[node] = len(ties)
	}
	s := spreads{m, lists[float64](count)}
	for k := len(m.order) - 1; k >= 0; k-- {
		node := m.order[k]
		s.of[node] = s.of[node][:len(m.ties[node])]
		s.star(node, s.of[node])
	}
	return s
}

// star finds the spread between a node and each of its neighbours, in room of
// zeros. The node is
// their weighted mean and an error of its own: Var(Σ pᵢ·xᵢ − xⱼ) is
// Σ pᵢ·Vᵢⱼ − ½·ΣΣ pᵢ·pₗ·Vᵢₗ.
func (s spreads) star(node int, sums []float64) {
	star := s.mesh.ties[node]
	for i, own := range star {
		// Of every two neighbours the one that went first knows the other.
		ties, known := s.mesh.ties[own.to], s.of[own.to]
		if own.to == ground {
			continue
		}
		s.mesh.lookAt(ties)
		for j, t := range star {
			if at := s.mesh.at[t.to]; at > 0 {
				sums[j] += float64(own.weight * known[at-1])
				sums[i] += float64(t.weight * known[at-1])
			}
		}
		s.mesh.lookAway(ties)
	}
	var twice float64
	for i, t := range star {
		twice += float64(t.weight * sums[i])
	}
	for i := range sums {
		sums[i] = max(0, 1/s.mesh.total[node]+sums[i]-float64(twice/2))
	}

}

// between is the spread between two nodes that were tied.
func (s spreads) between(a, b int) float64 {
	if a == b {
		return 0
	}
	for _, ends := range [2][2]int{{a, b}, {b, a}} {
		for i, t := range s.mesh.ties[ends[0]] {
			if t.to == ends[1] {
				return s.of[ends[0]][i]
			}
		}
	}
	return 0 // not reached: whoever was tied is in the list of the first to go
}
