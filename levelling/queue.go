package levelling

// queue hands out nodes by the number of their ties, fewest first, the last one
// pushed before the others. A node whose number changes is pushed again; what
// that leaves behind is passed over.
type queue struct {
	buckets [][]int // by number of ties
	count   []int   // by node: its number of ties when last pushed, or -1 once handed out
	lowest  int     // no bucket below it holds anything
}

func newQueue(nodes int) *queue {
	return &queue{buckets: make([][]int, nodes+1), count: make([]int, nodes)}
}

func (q *queue) push(node, ties int) {
	q.count[node] = ties
	q.buckets[ties] = append(q.buckets[ties], node)
	q.lowest = min(q.lowest, ties)
}

// pop hands out a node. There is one.
func (q *queue) pop() int {
	for {
		bucket := q.buckets[q.lowest]
		if len(bucket) == 0 {
			q.lowest++
			continue
		}
		node := bucket[len(bucket)-1]
		q.buckets[q.lowest] = bucket[:len(bucket)-1]
		if q.count[node] == q.lowest {
			q.count[node] = -1
			return node
		}
	}
}
