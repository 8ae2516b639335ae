package levelling

// ground is the node that all fixed points share.
const ground = 0

// mesh is a network of nodes that are tied to each other and, some of them, to
// the ground. A tie has a weight and the rise from one end to the other that it
// would like to have. Solving it is the sparse factorisation L·D·Lᵀ of the
// normal equations in the shape of a star–mesh transformation: a node is a
// weighted mean of its neighbours, and taking it out ties these to each other.
type mesh struct {
	ties  [][]tie   // by node; each tie stands at both its ends, at the ground nowhere
	total []float64 // by node taken out: the weight of all its ties
	order []int     // the nodes in the order in which they are taken out
	at    []int     // by node, room: 1 + where it stands in the list being looked at
}

// tie leads from the node it is listed at. Its pull is weight·rise, so that ties
// between the same nodes add up. Once the node is taken out, both are divided by
// the weight of all its ties: weight is then the share of to in its mean.
type tie struct {
	to           int
	weight, pull float64
}

// newMesh makes room for so many ties at each node. It ties every one to the
// ground by nothing, so that each will know its spread from it.
func newMesh(count []int) *mesh {
	nodes := len(count)
	for node := range count {
		count[node]++
	}
	count[ground] = 0
	m := &mesh{ties: lists[tie](count), total: make([]float64, nodes), order: make([]int, 0, nodes), at: make([]int, nodes)}
	for node := ground + 1; node < nodes; node++ {
		m.ties[node] = append(m.ties[node], tie{to: ground})
	}
	return m
}

// tie adds a tie. One within the ground holds nothing.
func (m *mesh) tie(from, to int, weight, rise float64) {
	pull := weight * rise
	if from != ground {
		m.ties[from] = append(m.ties[from], tie{to, weight, pull})
	}
	if to != ground {
		m.ties[to] = append(m.ties[to], tie{from, weight, -pull})
	}
}

// eliminate takes out all nodes, those with the fewest neighbours first, which
// keeps the ties few. Among equals the order is fixed by that of the input.
func (m *mesh) eliminate() {
	q := newQueue(len(m.ties))
	for node := len(m.ties) - 1; node > ground; node-- {
		m.gather(node)
		q.push(node, len(m.ties[node]))
	}
	for len(m.order) < len(m.ties)-1 {
		node := q.pop()
		m.order = append(m.order, node)
		m.takeOut(node)
		for _, t := range m.ties[node] {
			if t.to != ground {
				q.push(t.to, len(m.ties[t.to]))
			}
		}
	}
}

// gather makes one tie of several to the same neighbour.
func (m *mesh) gather(node int) {
	all := m.ties[node]
	kept := all[:0]
	for _, t := range all {
		if at := m.at[t.to]; at > 0 {
			kept[at-1].join(t.weight, t.pull)
			continue
		}
		kept = append(kept, t)
		m.at[t.to] = len(kept)
	}
	m.ties[node] = kept
	m.lookAway(kept)
}

// join adds a tie between the same ends.
func (t *tie) join(weight, pull float64) {
	t.weight += weight
	t.pull += pull
}

func (m *mesh) lookAt(ties []tie) {
	for i, t := range ties {
		m.at[t.to] = i + 1
	}
}

func (m *mesh) lookAway(ties []tie) {
	for _, t := range ties {
		m.at[t.to] = 0
	}
}

// takeOut replaces the star of ties at a node by ties between its neighbours.
func (m *mesh) takeOut(node int) {
	star := m.ties[node]
	var total float64
	for _, t := range star {
		total += t.weight
	}
	m.total[node] = total
	for i, t := range star {
		if t.to != ground {
			m.bypass(node, i)
		}
	}
	for i := range star {
		star[i].weight /= total
		star[i].pull /= total
	}
}

// bypass ties the ith neighbour of a node to the others instead of to the node.
func (m *mesh) bypass(node, i int) {
	star, own := m.ties[node], m.ties[node][i]
	share, pulled := own.weight/m.total[node], own.pull/m.total[node]
	ties := m.ties[own.to]
	m.lookAt(ties)
	m.at[own.to] = -1 // not to itself
	for _, t := range star {
		weight, pull := float64(share*t.weight), float64(share*t.pull)-float64(pulled*t.weight)
		switch at := m.at[t.to]; {
		case at > 0:
			ties[at-1].join(weight, pull)
		case at == 0:
			ties = append(ties, tie{t.to, weight, pull})
		}
	}
	m.at[own.to] = 0
	m.lookAway(ties)
	last := len(ties) - 1
	for j := range ties {
		if ties[j].to == node {
			ties[j] = ties[last]
			break
		}
	}
	m.ties[own.to] = ties[:last]
}

// lifts returns by how much each node lies above where the marks were placed,
// the ground by nothing.
func (m *mesh) lifts() []float64 {
	lifts := make([]float64, len(m.ties))
	for k := len(m.order) - 1; k >= 0; k-- {
		node := m.order[k]
		var mean float64
		for _, t := range m.ties[node] {
			mean += float64(t.weight*lifts[t.to]) - t.pull
		}
		lifts[node] = mean
	}
	return lifts
}
